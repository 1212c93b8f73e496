#!/usr/bin/env python3
"""Engraves written pages with Verovio and counts what is drawn.

    engraved.py [--svg FOLDER] PAGE_OR_FOLDER...

Every page of music is engraved on A4, in the lines that it asks for. Then:
  - the engraver has no warning, no page is empty;
  - drawn are as many notes, chord symbols, other words and ties as the page has, and no note ends a tie that none begins;
  - where STEM.json stands beside STEM.musicxml, each staff has as many notes struck as that says: the left hand those of `left`,
    the right hand those of `right` besides the melody, and the chord symbols are those, in order, but for what stands in
    parentheses, where the engraver prints degrees that the page says not to print.
Pages that are the same, but for their name, are engraved once.

With --svg all pages are left in that folder, to be looked at. Exits with 0 where all is so, 1 where anything is not, 2
where there is nothing to engrave.
"""

import argparse
import json
import os
import re
import sys
import tempfile
from collections import Counter
from contextlib import contextmanager
from pathlib import Path
from xml.etree import ElementTree

import verovio

OPTIONS = {"pageWidth": 2100, "pageHeight": 2970, "footer": "none", "svgViewBox": True}
# Names of elements of the drawing.
DRAWN = ("note", "harm", "dir", "tie", "staff", "measure")
# Verovio prints accidentals of chord symbols in its own font.
SIGNS = str.maketrans({"\uea64": "b", "\uea66": "#", "♭": "b", "♯": "#"})


@contextmanager
def standard_error(into: list[str]):
    """What the engraver says, which it says to the standard error of the process."""
    sys.stderr.flush()
    kept = os.dup(2)
    with tempfile.TemporaryFile() as file:
        os.dup2(file.fileno(), 2)
        try:
            yield
        finally:
            os.dup2(kept, 2)
            os.close(kept)
            file.seek(0)
            into.extend(line for line in file.read().decode().splitlines() if line.strip())


def local(element: ElementTree.Element) -> str:
    return element.tag.rsplit("}", 1)[-1]


def classes(element: ElementTree.Element) -> list[str]:
    return element.get("class", "").split()


class Drawing:
    """What stands on the pages of one tune."""

    def __init__(self):
        self.ids = {name: set() for name in DRAWN}
        # Notes of each staff, counted from the top of its system.
        self.staves: dict[str, int] = {}
        self.symbols: dict[str, str] = {}

    def add(self, svg: str) -> int:
        """Adds a page; gives the number of notes on it."""
        before = len(self.ids["note"])
        self.walk(ElementTree.fromstring(svg), 0)
        return len(self.ids["note"]) - before

    def walk(self, element: ElementTree.Element, staff: int) -> None:
        found = [name for name in classes(element) if name in DRAWN]
        if found and local(element) == "g":
            # What is continued on the next line is drawn again under the same name, or with it in `data-id`.
            self.ids[found[0]].add(element.get("id", "").split("-")[0])
            if found[0] == "note":
                self.staves[element.get("id")] = staff
            if found[0] == "harm":
                self.symbols[element.get("id")] = "".join("".join(element.itertext()).split())
        of_measure = 0
        for child in element:
            if "measure" in classes(element) and "staff" in classes(child):
                of_measure += 1
                self.walk(child, of_measure)
            else:
                self.walk(child, staff)


def plain(symbol: str) -> str:
    """A chord symbol without blanks and parentheses, in ASCII."""
    return re.sub(r"\([^()]*\)", "", "".join(symbol.split())).translate(SIGNS)


def ties_of_mei(mei: str) -> tuple[list[str], set[str]]:
    """Where the ties that the engraver knows end, and their names."""
    identity = "{http://www.w3.org/XML/1998/namespace}id"
    ties = [element for element in ElementTree.fromstring(mei).iter() if local(element) == "tie"]
    return [tie.get("endid", "#").removeprefix("#") for tie in ties], {tie.get(identity) for tie in ties}


def count_of_page(page: ElementTree.Element) -> Counter:
    """What the page has."""
    found = Counter()
    for note in page.iter("note"):
        found["note"] += note.find("pitch") is not None
        found["tie"] += any(tie.get("type") == "start" for tie in note.findall("tie"))
        found["tied"] += any(tie.get("type") == "stop" for tie in note.findall("tie"))
    found["harm"] = sum(1 for _ in page.iter("harmony"))
    found["dir"] = sum(1 for _ in page.iter("words"))
    found["measure"] = sum(1 for _ in page.iter("measure"))
    return found


def struck_by_json(report: dict) -> tuple[int, int]:
    """Notes of the right hand besides the melody, and of the left hand."""
    right = left = 0
    for chord in report["chords"]:
        # The melody is the last of the right hand, as often as it has a note there.
        right += len(chord["right"]) - (bool(chord["right"]) and chord["right"][-1] == chord["melody"])
        left += len(chord["left"])
    return right, left


def struck(page: ElementTree.Element, voice: str) -> int:
    """Notes of a voice that are not tied from before."""
    notes = [note for note in page.iter("note") if note.findtext("voice") == voice]
    return sum(n.find("pitch") is not None and all(t.get("type") != "stop" for t in n.findall("tie")) for n in notes)


def check(path: Path, svg: Path | None) -> tuple[list[str], int]:
    """What is wrong with one page of music, and on how many pages of paper it stands."""
    said: list[str] = []
    drawing = Drawing()
    found: list[str] = []
    with standard_error(said):
        toolkit = verovio.toolkit()
        # A page of one line says nowhere that a line begins.
        has_lines = any(print.get("new-system") == "yes" for print in ElementTree.parse(path).iter("print"))
        toolkit.setOptions(OPTIONS | {"breaks": "line" if has_lines else "auto"})
        read = toolkit.loadFile(str(path))
        pages = toolkit.getPageCount() if read else 0
        drawn = [toolkit.renderToSVG(number) for number in range(1, pages + 1)]
        mei = toolkit.getMEI() if read else ""
    found += [f"says {line}" for line in said]
    if not drawn:
        return [*found, "no page"], 0
    for number, text in enumerate(drawn, 1):
        if svg:
            (svg / f"{path.parent.name}-{path.stem}-{number}.svg").write_text(text, encoding="utf-8")
        if drawing.add(text) == 0:
            found.append(f"page {number} has no notes")
    page = ElementTree.parse(path).getroot()
    expected = count_of_page(page)
    ends, ties = ties_of_mei(mei)
    counts = {name: len(ids) for name, ids in drawing.ids.items()}
    counts["tied"] = len(set(ends) & drawing.ids["note"])
    counts["tie"] = len(ties & drawing.ids["tie"])
    for name in ("measure", "note", "harm", "dir", "tie", "tied"):
        if counts[name] != expected[name]:
            found.append(f"{name}: {counts[name]} drawn, expected {expected[name]}")
    described = path.with_suffix(".json")
    if described.exists():
        report = json.loads(described.read_text(encoding="utf-8"))
        right, left = struck_by_json(report)
        on = Counter(drawing.staves[note] for note in drawing.staves if note not in set(ends))
        expected_on = {1: right + struck(page, "1"), 2: left}
        for staff, number in expected_on.items():
            if on[staff] != number:
                found.append(f"staff {staff}: {on[staff]} notes struck, expected {number} as in the JSON")
        printed = [plain(symbol) for symbol in drawing.symbols.values()]
        symbols = [plain(chord["symbol"]) for chord in report["chords"]]
        if printed != symbols:
            found.append(f"chord symbols {[pair for pair in zip(printed, symbols) if pair[0] != pair[1]][:3]}, expected as in the JSON")
    return found, len(drawn)


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--svg", type=Path)
    parser.add_argument("places", nargs="+", type=Path)
    arguments = parser.parse_args()
    verovio.enableLog(verovio.LOG_WARNING)
    if arguments.svg:
        arguments.svg.mkdir(parents=True, exist_ok=True)
    paths = []
    for place in arguments.places:
        paths += [place] if place.is_file() else sorted(place.glob("*.musicxml"))
    seen, failed, sheets = set(), 0, 0
    for path in paths:
        described = path.with_suffix(".json")
        content = (path.read_bytes(), described.read_bytes() if described.exists() else b"")
        if content in seen:
            continue
        seen.add(content)
        found, pages = check(path, arguments.svg)
        sheets += pages
        failed += bool(found)
        for fault in found:
            print(f"{path.parent.name}/{path.name}: {fault}")
    print(f"{len(seen)} pieces engraved on {sheets} pages, {failed} with faults")
    return 2 if not seen else int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
