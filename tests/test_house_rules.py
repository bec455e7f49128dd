"""The house rules as tests: sources, units, documentation, words."""

from __future__ import annotations

import argparse
import ast
import importlib
import pkgutil
import re
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

import blockwright
from blockwright.build.catalogue import STATUSES
from blockwright.cli import parser
from blockwright.trace import FormulaInfo, registered

ROOT = Path(__file__).parents[1]
SOURCE = ROOT / "src" / "blockwright"
MODELS = sorted((SOURCE / "build" / "catalogue" / "models").glob("*.toml"))
MODULES = sorted(SOURCE.rglob("*.py"))
#: Words that say that something was left for later, or that the wrong thing was left in.
FORBIDDEN = ("TO" + "DO", "FIX" + "ME", "X" + "XX", "HA" + "CK", "lorem" + " ipsum", "PLACE" + "HOLDER")
#: Written by machines, or licences of others.
NOT_OURS = re.compile(r"requirements\.lock|LICENSE|\.(npz|woff2|png)$")


def of_name(path: Path) -> str:
    return str(path.relative_to(ROOT))


# --- formulas --------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def formulas() -> dict[str, FormulaInfo]:
    """Every formula of the package, by name."""
    for module in pkgutil.walk_packages(blockwright.__path__, "blockwright."):
        if not module.name.endswith(("__main__", ".make")):
            importlib.import_module(module.name)
    return {name: f.info for name, f in registered().items() if not name.startswith("tests")}


def test_there_are_formulas(formulas: dict[str, FormulaInfo]) -> None:
    assert len(formulas) > 50


def test_every_formula_names_symbol_unit_equation_and_source(formulas: dict[str, FormulaInfo]) -> None:
    for name, info in formulas.items():
        for field in ("title", "symbol", "unit", "equation", "source"):
            text = getattr(info, field)
            assert text.strip() == text, f"{name}: {field}"
            assert text, f"{name} has no {field}"
        assert len(info.source) > 4, name


def test_every_formulas_unit_is_one_that_can_be_read(formulas: dict[str, FormulaInfo]) -> None:
    from blockwright.build.catalogue.plain_units import unit

    for name, info in formulas.items():
        for of in info.unit.split(" or "):
            try:
                unit(of)
            except ValueError:
                pytest.fail(f"{name}: unit {of!r}")


def test_every_formula_says_what_it_gives(formulas: dict[str, FormulaInfo]) -> None:
    """The first line of the docstring is what `explain` prints; a bare name is not enough."""
    for name, info in formulas.items():
        title = info.title
        assert " " in title, name
        assert title != name.rpartition(".")[2], name
        assert len(title) < 140, name


# --- data ------------------------------------------------------------------------------------------


def _rows(node: dict[str, Any], path: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """Tables that hold a value, at any depth."""
    if "value" in node:
        yield path, node
        return
    for key, inner in node.items():
        if isinstance(inner, dict):
            yield from _rows(inner, f"{path}.{key}")


@pytest.mark.parametrize("path", MODELS, ids=lambda path: path.stem)
def test_every_model_constant_says_what_it_means_how_it_is_known_and_from_where(path: Path) -> None:
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    sources = data.pop("sources", {})
    rows = dict(_rows(data, path.stem))
    assert rows
    for where, row in rows.items():
        assert row.get("meaning"), f"{where} has no meaning"
        assert row.get("status") in STATUSES, where
        assert row.get("source"), f"{where} has no source"
        assert row["source"] in sources or len(row["source"]) > 12, f"{where}: {row['source']}"
    assert set(sources) <= {row["source"] for row in rows.values()}, "sources that nothing uses"


# --- the tree --------------------------------------------------------------------------------------


def tracked() -> Iterator[Path]:
    """Every file of ours under version control, else everything that is not hidden."""
    done = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if done.returncode == 0 and done.stdout:
        found = [ROOT / name for name in done.stdout.split("\0") if name]
    else:
        tops = ("src", "tests", "docs", "examples", "benchmarks", "tools")
        found = [p for top in tops for p in (ROOT / top).rglob("*") if "__pycache__" not in p.parts]
        found += list(ROOT.glob("*.md"))
    return (p for p in found if p.is_file() and not NOT_OURS.search(p.name))


def test_nothing_is_left_for_later() -> None:
    for path in tracked():
        text = path.read_text(encoding="utf-8")
        for word in FORBIDDEN:
            assert not re.search(rf"\b{word}\b", text), f"{of_name(path)}: {word}"


def test_files_end_with_one_line_break_and_hold_no_tabs() -> None:
    for path in tracked():
        text = path.read_text(encoding="utf-8")
        if not text:
            continue
        assert text.endswith("\n"), of_name(path)
        assert not text.endswith("\n\n"), of_name(path)
        if path.name != "Makefile":
            assert "\t" not in text, of_name(path)


def test_links_between_documents_lead_somewhere() -> None:
    for path in tracked():
        if path.suffix != ".md":
            continue
        for target in re.findall(r"\]\(([^)#\s]+)[^)]*\)", path.read_text(encoding="utf-8")):
            if "://" not in target:
                assert (path.parent / target).exists(), f"{of_name(path)}: {target}"


@pytest.mark.parametrize("path", MODULES, ids=of_name)
def test_modules_classes_and_public_functions_are_documented(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if tree.body:
        assert ast.get_docstring(tree), "the module has no docstring"
    for node in tree.body:
        if isinstance(node, ast.ClassDef | ast.FunctionDef) and not node.name.startswith("_"):
            assert ast.get_docstring(node), f"{node.name} has no docstring"


@pytest.mark.parametrize("path", MODULES, ids=of_name)
def test_modules_hold_one_idea(path: Path) -> None:
    """A file much over 400 lines is more than one idea."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 450


# --- limits and commands ---------------------------------------------------------------------------


def _identities() -> dict[str, list[str]]:
    """Heads of limit ids as the code writes them, by file."""
    found: dict[str, list[str]] = {}
    for path in sorted((SOURCE / "parts").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Identity":
                for text in ast.walk(node):
                    if isinstance(text, ast.Constant) and isinstance(text.value, str):
                        found.setdefault(path.stem, []).append(text.value)
    return found


def test_every_part_that_makes_limits_has_its_page() -> None:
    """The page that explains a limit names the module that computes it."""
    pages = "\n".join(p.read_text(encoding="utf-8") for p in sorted((ROOT / "docs/models").glob("*.md")))
    makers = [stem for stem in _identities() if stem != "cases"]
    assert makers
    for stem in makers:
        assert re.search(rf"\b{stem}\.py\b", pages), f"no page of docs/models names {stem}.py"


def _options(command: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    for action in command._actions:
        if isinstance(action, argparse._SubParsersAction):
            for inner in action.choices.values():
                yield from _options(inner)
        else:
            yield action


def test_every_option_has_its_help() -> None:
    for action in _options(parser()):
        assert action.help, action.dest


def test_nothing_imports_towards_the_user() -> None:
    """Physics never imports what touches screen or terminal, even inside a function."""
    outer = ("report", "cli")
    for path in MODULES:
        part = path.relative_to(SOURCE).parts[0]
        if part in ("report", "cli.py", "__main__.py", "__init__.py"):
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                assert (node.module or "").split(".")[0] not in outer, of_name(path)
