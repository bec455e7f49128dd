"""The page: whole, safe, self-contained, readable without its pictures."""

from __future__ import annotations

import base64
import dataclasses
import hashlib
import html
import os
import re
import xml.etree.ElementTree as ET
from html.parser import HTMLParser

import pytest

from blockwright.errors import InputError
from blockwright.life.verdict import Drawing, Evidence, Verdict
from blockwright.report.html import write
from blockwright.report.page import render

from .fixture import FLAT4, HOSTILE, INLINE4, V8, V12, awkward, engine

CASES = {
    "v8": lambda: engine(V8),
    "inline": lambda: engine(INLINE4),
    "flat": lambda: engine(FLAT4),
    "v12": lambda: engine(V12),
    "awkward": awkward,
}


@pytest.fixture(scope="module", params=CASES)
def case(request: pytest.FixtureRequest) -> tuple[Verdict, Evidence, str]:
    verdict, evidence = CASES[request.param]()
    return verdict, evidence, render(verdict, evidence)


class Outline(HTMLParser):
    """Tags opened and closed in order, attributes, and the text of the page."""

    VOID = frozenset({"meta", "br", "link", "img", "input", "hr"})

    def __init__(self, page: str) -> None:
        super().__init__(convert_charrefs=True)
        self.open: list[str] = []
        self.wrong: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(page)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.wrong.append(tag)

    def handle_data(self, data: str) -> None:
        if not self.open or self.open[-1] not in ("style", "script"):
            self.text.append(data)


def pictures(page: str) -> list[str]:
    return re.findall(r"<svg.*?</svg>", page, flags=re.S)


def test_tags_close_in_order(case: tuple[Verdict, Evidence, str]) -> None:
    outline = Outline(case[2])
    assert outline.wrong == []
    assert outline.open == []


def test_every_picture_is_well_formed_and_named(case: tuple[Verdict, Evidence, str]) -> None:
    drawn = pictures(case[2])
    assert len(drawn) >= 10
    for drawing in drawn:
        root = ET.fromstring(drawing)
        if root.get("aria-hidden") == "true":
            continue
        assert root.get("role") == "img"
        title, desc = (root.find(f"*[@id='{key}']") for key in (root.get("aria-labelledby") or "").split())
        assert title is not None
        assert title.text
        assert desc is not None
        assert desc.text
        width, height = (float(v) for v in (root.get("viewBox") or "").split()[2:])
        assert 0 < width <= 900
        assert 0 < height <= 2400


def test_no_coordinate_is_lost(case: tuple[Verdict, Evidence, str]) -> None:
    for drawing in pictures(case[2]):
        for element in ET.fromstring(drawing).iter():
            for name in ("d", "x", "y", "cx", "cy", "r", "width", "height", "x1", "y1", "x2", "y2"):
                assert not re.search(r"nan|inf|None", element.get(name, ""), flags=re.I)


def test_ids_are_unique_and_references_resolve(case: tuple[Verdict, Evidence, str]) -> None:
    page = case[2]
    tags = Outline(page).tags
    ids = [attrs["id"] for _, attrs in tags if attrs.get("id")]
    assert len(ids) == len(set(ids))
    body = page.split("</style>", 1)[1]
    for reference in re.findall(r"url\(#([^)]*)\)", body):
        assert reference in ids


def test_nothing_is_fetched(case: tuple[Verdict, Evidence, str]) -> None:
    page = case[2]
    tags = Outline(page).tags
    for tag, attrs in tags:
        assert tag not in ("link", "img", "iframe", "object", "embed", "base", "form", "a", "image", "use")
        for name, value in attrs.items():
            assert not name.startswith("on")
            if name in ("src", "href", "xlink:href", "action", "poster", "srcset"):
                pytest.fail(f"{tag} has {name}={value}")
            if name in ("style", "fill", "stroke", "d"):
                assert "//" not in (value or "")
    style = re.search(r"<style>(.*?)</style>", page, flags=re.S)
    assert style is not None
    assert "@import" not in style[1]
    for address in re.findall(r"url\(([^)]*)\)", style[1]):
        assert address.strip("\"'").startswith("data:font/woff2;base64,")


def test_the_one_script_is_ours_and_the_policy_names_it(case: tuple[Verdict, Evidence, str]) -> None:
    page = case[2]
    scripts = re.findall(r"<script[^>]*>(.*?)</script>", page, flags=re.S)
    assert len(scripts) == 1
    digest = base64.b64encode(hashlib.sha256(scripts[0].encode()).digest()).decode()
    assert f"script-src &#39;sha256-{digest}&#39;" in page or f"script-src 'sha256-{digest}'" in page
    assert page.count("<script") == 1
    assert "fetch" not in scripts[0]
    assert "XMLHttpRequest" not in scripts[0]


def test_hostile_text_stays_text() -> None:
    verdict, evidence = awkward()
    page = render(verdict, evidence)
    assert "<script>alert" not in page
    assert "\x07" not in page
    told = " ".join(Outline(page).text)
    assert told.count("<script>alert(1)</script>") >= 8
    assert HOSTILE.replace("\x07", "\ufffd") in told


def test_tells_everything_in_the_verdict(case: tuple[Verdict, Evidence, str]) -> None:
    verdict, _, page = case
    told = " ".join(" ".join(Outline(page).text).replace("\u00a0", " ").split())

    def said(text: str) -> bool:
        return " ".join(text.replace("\x07", "\ufffd").split()) in told

    assert said(verdict.sentence)
    for item in (*verdict.cautions, *verdict.not_modelled, *verdict.warnings):
        assert said(item)
    for assumption in verdict.assumptions:
        assert said(assumption.path)
        assert said(assumption.why)
    for change in verdict.reinforcements:
        assert said(change.name)
        assert said(change.reason)
    for wanted in verdict.measure_next:
        assert said(wanted.name)
        assert said(wanted.advice)
    for caution in verdict.cautions:
        assert told.count(caution) == 1
    assert ("INVENTED" in told) == verdict.invented


def test_tables_hold_every_limit_and_every_change(case: tuple[Verdict, Evidence, str]) -> None:
    verdict, _, page = case
    ladder = re.search(r'<figure id="ladder".*?</figure>', page, flags=re.S)
    assert ladder is not None
    rows = re.findall(r"<tr><th scope=\"row\">(.*?)</tr>", ladder[0], flags=re.S)
    assert len(rows) == len(verdict.limits)
    places = [re.findall(r"<td>(.*?)</td>", row)[0] for row in rows]
    assert sorted(html.unescape(p) for p in places) == sorted(x.place for x in verdict.limits)
    assert all(re.search(r"<td>(breaks|doubtful|lives|exceeded|kept)</td>", row) for row in rows)


def test_dark_colours_never_reach_paper() -> None:
    page = render(*engine())
    style = re.search(r"<style>(.*?)</style>", page, flags=re.S)
    assert style is not None
    # The dark ground may be set only inside "@media screen".
    outside = re.sub(r"@media screen[^{]*\{(?:[^{}]|\{[^{}]*\})*\}", "", style[1])
    assert "#121817" in style[1]
    assert "#121817" not in outside
    assert "@page" in style[1]


def test_missing_evidence_leaves_pictures_out_not_the_page() -> None:
    verdict, evidence = engine()
    bare = Drawing({}, "V", 8, 5, (), (), (), (), "")
    page = render(verdict, Evidence((), (), (), bare))
    assert 'id="ladder"' in page
    for key in ("pressure", "indicator", "polar", "curve", "endview", "sideview", "walls", "pipes"):
        assert f'<figure id="{key}"' not in page
    for missing in (
        "stroke",
        "rod_length",
        "cap_crown",
        "main_bore",
        "cap_span",
        "cap_length",
        "bore_length",
        "outer_span",
    ):
        kept = {k: v for k, v in evidence.drawing.dimensions.items() if k != missing}
        drawing = dataclasses.replace(evidence.drawing, dimensions=kept)
        for picture in pictures(render(verdict, dataclasses.replace(evidence, drawing=drawing))):
            ET.fromstring(picture)


def test_survives_a_verdict_with_nothing_in_it() -> None:
    verdict, evidence = engine()
    empty = dataclasses.replace(
        verdict, points=(), limits=(), reinforcements=(), measure_next=(), assumptions=(), not_modelled=(),
        warnings=(), quick_numbers=(), method={},
    )  # fmt: skip
    page = render(empty, evidence)
    assert "Nothing: every value was given." in page
    assert Outline(page).wrong == []


def test_writes_whole_and_replaces(tmp_path: os.PathLike[str]) -> None:
    target = os.path.join(tmp_path, "out.html")
    write(target, "first")
    write(target, "second é")
    with open(target, encoding="utf-8") as file:
        assert file.read() == "second é"
    assert os.listdir(tmp_path) == ["out.html"]


@pytest.mark.parametrize("where", ["missing/out.html", "."])
def test_refuses_a_place_it_cannot_write(tmp_path: os.PathLike[str], where: str) -> None:
    with pytest.raises(InputError) as refused:
        write(os.path.join(tmp_path, where), "page")
    assert "\n" not in str(refused.value)
    assert "--report" in str(refused.value)
    assert os.listdir(tmp_path) == []


def test_a_failed_write_leaves_nothing(tmp_path: os.PathLike[str], monkeypatch: pytest.MonkeyPatch) -> None:
    target = os.path.join(tmp_path, "out.html")
    write(target, "old")

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    with pytest.raises(InputError, match="No space left on device"):
        write(target, "new")
    assert os.listdir(tmp_path) == ["out.html"]
    with open(target, encoding="utf-8") as file:
        assert file.read() == "old"


def test_shows_another_split_when_the_governing_limit_has_none() -> None:
    verdict, evidence = engine()
    bare = dataclasses.replace(verdict.governing, name="Foot slip", split=())
    limits = (bare, *(x for x in verdict.limits if x.id != bare.id))
    page = render(dataclasses.replace(verdict, governing=bare, limits=limits), evidence)
    assert "What makes the load: Cap crown fatigue" in page
