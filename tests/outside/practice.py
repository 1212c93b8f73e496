"""Reads what the example `practice` writes: books with music21 and partitura, pages with the parser of Python's standard library.

A book has the same in twelve keys: the roots of all symbols move by one interval, in letters and in semitones, and so do all
notes of a tune's melody; a name that would have two accidentals may have other letters.

    practice.py FOLDER

Exits with 1 where something does not hold.
"""

import sys
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

VOID = {"meta", "br", "link", "img", "hr", "input"}
CAUTION = "The usual caution:"


class Page(HTMLParser):
    """Checks nesting, ids, what is fetched, and that every picture has a name and a description."""

    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.open, self.ids, self.wanted, self.faults = [], set(), set(), []
        self.tags, self.headings, self.text = {}, [], []

    def fault(self, text):
        self.faults.append(f"line {self.getpos()[0]}: {text}")

    def handle_starttag(self, tag, attributes):
        self.tags[tag] = self.tags.get(tag, 0) + 1
        values = dict(attributes)
        if tag == "html" and values.get("lang") != "en":
            self.fault("no language")
        if tag in {"script", "link", "img", "iframe", "object", "image", "use"}:
            self.fault(f"`{tag}` may fetch something")
        for name in ("src", "href", "xlink:href"):
            if name in values and not values[name].startswith("#"):
                self.fault(f"`{values[name]}` is elsewhere")
        if "id" in values:
            if values["id"] in self.ids:
                self.fault(f"the id `{values['id']}` stands twice")
            self.ids.add(values["id"])
        if tag == "svg":
            names = values.get("aria-labelledby", "").split()
            if values.get("role") != "img" or len(names) != 2:
                self.fault("a picture without name and description")
            self.wanted.update(names)
        if tag == "a":
            self.wanted.add(values["href"][1:])
        if tag == "section":
            self.wanted.add(values["aria-labelledby"])
        if tag in {"h1", "h2", "h3"}:
            self.headings.append(int(tag[1]))
        if tag == "th" and "scope" not in values:
            self.fault("a heading of a table without scope")
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.fault(f"`</{tag}>` closes something else")

    def handle_data(self, data):
        self.text.append(data)


def faults_of_page(path):
    text = path.read_text(encoding="utf-8")
    page = Page()
    page.feed(text)
    page.close()
    faults = page.faults
    if not text.startswith("<!DOCTYPE html>"):
        faults.append("no doctype")
    if "http" in text or "url(" in text or "@import" in text:
        faults.append("something is named that is elsewhere")
    if page.open:
        faults.append(f"left open: {page.open}")
    if page.wanted - page.ids:
        faults.append(f"nothing has the id {sorted(page.wanted - page.ids)[0]}")
    if page.headings != [1] + [2] * 12:
        faults.append(f"headings {page.headings}")
    words = " ".join(page.text)
    if CAUTION not in words or words.index(CAUTION) > words.index("twelve keys") + 5000:
        faults.append("the caution is not at the top")
    pictures = page.tags.get("svg", 0)
    if pictures == 0 or page.tags.get("figcaption", 0) < pictures or page.tags.get("desc", 0) != pictures:
        faults.append(f"{page.tags}")
    if page.tags.get("table", 0) not in (0, 11):
        faults.append(f"{page.tags['table']} tables")
    return faults, pictures


def moves_of(pairs, octave):
    """By how many semitones pitches move, without octaves."""
    return {(new.ps - old.ps) % octave for old, new in pairs}


def moved(part, of_tune):
    """Whether each key has the roots of the first, moved by one interval, and, of a tune, the melody."""
    from music21 import chord, expressions, harmony, note

    sections = []
    for measure in part.getElementsByClass("Measure"):
        if any(measure.recurse().getElementsByClass(expressions.RehearsalMark)):
            sections.append(([], []))
        melody, roots = sections[-1]
        voices = {str(voice.id): voice for voice in measure.voices}
        for element in voices.get("1", measure).notesAndRests:
            if isinstance(element, harmony.Harmony):
                continue
            pitch = element.pitch if isinstance(element, note.Note) else None
            if isinstance(element, chord.Chord):
                pitch = max(head.pitch for head in element.notes)
            melody.append((element.duration.quarterLength, pitch))
        for symbol in measure.recurse().getElementsByClass(harmony.ChordSymbol):
            if symbol.chordKind != "none":
                roots.append(symbol.root())
    first_melody, first_roots = sections[0]
    faults, ways = [], []
    for at, (melody, roots) in enumerate(sections, 1):
        rhythms = [[(length, pitch is None) for length, pitch in one] for one in (first_melody, melody)]
        if rhythms[0] != rhythms[1] or len(roots) != len(first_roots):
            faults.append(f"key {at}: another rhythm")
            continue
        pairs = list(zip(first_roots, roots))
        ways.append(moves_of(pairs, 12))
        if of_tune:
            pairs += [(old, new) for (_, old), (_, new) in zip(first_melody, melody) if old is not None]
            if len({new.ps - old.ps for old, new in pairs[len(roots) :]}) != 1:
                faults.append(f"key {at}: the melody moves by more than one interval")
        if len(moves_of(pairs, 12)) != 1:
            faults.append(f"key {at}: roots and melody move by {sorted(moves_of(pairs, 12))} semitones")
            continue
        # In letters too, except for a name that would have two accidentals.
        steps = Counter((new.diatonicNoteNum - old.diatonicNoteNum) % 7 for old, new in pairs).most_common(1)[0][0]
        for old, new in pairs:
            natural = [0, 2, 4, 5, 7, 9, 11][(old.diatonicNoteNum - 1 + steps) % 7]
            exact = (int(new.ps) - natural + 6) % 12 - 6
            if (new.diatonicNoteNum - old.diatonicNoteNum) % 7 != steps and abs(exact) < 2:
                faults.append(f"key {at}: {old} becomes {new}, {steps} letters up elsewhere")
    if len(set().union(*ways)) != 12:
        faults.append("the twelve keys are not twelve ways to move")
    return faults


def faults_of_book(path):
    from music21 import converter, expressions, harmony, key

    import second

    score = converter.parse(path, format="musicxml")
    part = score.parts[0]
    marks = list(part.recurse().getElementsByClass(expressions.RehearsalMark))
    faults = []
    if len(marks) != 12 or len({mark.content for mark in marks}) != 12:
        faults.append(f"{[mark.content for mark in marks]} are not twelve headings")
    bars = len(part.getElementsByClass("Measure"))
    if bars % 12 != 0:
        faults.append(f"{bars} bars are not twelve times as many")
    signatures = list(part.recurse().getElementsByClass(key.KeySignature))
    if any(abs(signature.sharps) > 7 for signature in signatures) or len(signatures) < 12:
        faults.append(f"signatures {[signature.sharps for signature in signatures]}")
    # What each heading stands for: the roots of its chords are those of the first, moved.
    roots, parts = [], []
    for measure in part.getElementsByClass("Measure"):
        if any(measure.recurse().getElementsByClass(expressions.RehearsalMark)):
            roots = []
            parts.append(roots)
        for symbol in measure.recurse().getElementsByClass(harmony.ChordSymbol):
            if symbol.chordKind != "none":
                roots.append(symbol.root().pitchClass)
    first = parts[0] if parts else []
    ways = [{(new - old) % 12 for old, new in zip(first, own)} for own in parts]
    if any(len(way) != 1 for way in ways) or len(set().union(*ways)) != 12:
        faults.append(f"the roots move by {ways}")
    if any(len(own) != len(first) for own in parts):
        faults.append("a key has another number of chords")
    faults += moved(part, all(mark.content.startswith("Key of ") for mark in marks))
    faults += [f"two readers: {fault}" for fault in second.compare(path, score)]
    if CAUTION not in path.read_text(encoding="utf-8"):
        faults.append("no caution")
    return faults, bars


def main():
    folder = Path(sys.argv[1])
    pages, books = sorted(folder.glob("*.html")), sorted(folder.glob("*.musicxml"))
    bad = len(pages) == 0 or len(pages) != len(books)
    for path, check, what in [(p, faults_of_page, "pictures") for p in pages] + [
        (p, faults_of_book, "bars") for p in books
    ]:
        faults, count = check(path)
        print(f"{path.name}: {count} {what}")
        for fault in faults:
            bad = True
            print(f"  {fault}")
    sys.exit(1 if bad else 0)


if __name__ == "__main__":
    main()
