"""Write anew what is made from the program itself: schemas, the two reference pages, README's example.

Run by ``make docs`` after a change of fields, of catalogue data or of figures.
"""

from __future__ import annotations

import re
from pathlib import Path

from blockwright import judge, load
from blockwright.build import docs, schema
from blockwright.build.catalogue import page
from blockwright.report import contract, curve_document
from blockwright.report.text import judge_text

ROOT = Path(__file__).parents[1]
#: Build that README judges.
EXAMPLE = ROOT / "examples" / "hillclimb_v8.toml"
#: Lines of its answer that README shows: up to the end of the table of limits.
_UNTIL = "\n\nHow the first came about"
_MARKS = re.compile(r"(<!-- example -->\n```text\n).*?(```\n<!-- end of example -->)", re.DOTALL)


def excerpt() -> str:
    """The head of the answer for the example build: sentence, chance, table of limits."""
    text = judge_text(judge(load(EXAMPLE)), ascii_only=False)
    return text.partition(_UNTIL)[0]


def readme(text: str, answer: str) -> str:
    """README with its example replaced."""
    made, count = _MARKS.subn(lambda found: found[1] + answer + "\n" + found[2], text)
    if count != 1:
        raise SystemExit("README.md has no example between its marks")
    return made


def main() -> None:
    """Write every page."""
    (ROOT / "docs/build-file.md").write_text(docs.docs_text(), encoding="utf-8")
    schema.write(ROOT / "docs/build-file.schema.json")
    contract.write_schema(ROOT / "docs/verdict.schema.json")
    curve_document.write_schema(ROOT / "docs/curve.schema.json")
    (ROOT / "docs/catalogue.md").write_text(page.markdown(), encoding="utf-8")
    path = ROOT / "README.md"
    path.write_text(readme(path.read_text(encoding="utf-8"), excerpt()), encoding="utf-8")


if __name__ == "__main__":
    main()
