#!/usr/bin/env python3
"""Compares tunes as they are played with the repeats and jumps that music21 plays out.

    as_played.py FOLDER SOURCE_FOLDER...

FOLDER holds, for each tune, STEM.musicxml, STEM.mid and STEM.json, written by `arrange --as-played`. The source is
STEM.mxl or STEM.musicxml in one of the source folders.

Compared with `expandRepeats` of the source's first part:
  - the printed numbers of the bars, in the order of playing;
  - the melody by sound and time, ties made one: of the page, and of the track "Melody" of the MIDI file;
  - chord symbols, one by one in order, with their times; those that are said again where a section is gone back to
    are worked out here, by the rule and not by the code under test;
  - the bars that the JSON gives for the symbols.

Some sources have signs that music21 refuses. They are repaired first, one by one, as `REPAIRS` says with the reason;
a repair that is no longer needed is a fault. Where music21 takes another way than we mean, `DEPARTS` says which, why, and which
is meant: it must still take that way, and ours is compared with the one that is meant. Everything else is taken as it is.

Exits with 0 where all is equal, 1 where anything differs, 2 where there is nothing to compare.
"""

import copy
import json
import sys
import warnings
import zipfile
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

from music21 import bar, converter, harmony, repeat, spanner, stream

import second
from read_back import compare_symbols, content_of, differences, melody_of, midi_melody


def brackets(part: stream.Part) -> list[spanner.RepeatBracket]:
    return list(part.recurse().getElementsByClass(spanner.RepeatBracket))


def extend_first_bracket(part: stream.Part) -> None:
    """Makes the first bracket reach the backward sign behind it."""
    bracket = brackets(part)[0]
    measures = list(part.getElementsByClass(stream.Measure))
    at = measures.index(bracket.getSpannedElements()[-1])
    while not is_backward(measures[at]):
        at += 1
        bracket.addSpannedElements(measures[at])


def number_first_bracket(part: stream.Part) -> None:
    """Makes the first bracket number 1."""
    brackets(part)[0].number = "1"


SHORT = "refused: the bracket of the first ending stops before the backward sign"
REFUSED = "badly formed repeats"
# Why, and what is done.
REPAIRS = {
    "mary-s-a-grand-old-name": ("refused: both endings are numbered 2", number_first_bracket),
    "tiger-rag": (SHORT, extend_first_bracket),
    "till-we-meet-again": (SHORT, extend_first_bracket),
    "toyland": (SHORT, extend_first_bracket),
    "way-down-yonder-in-new-orleans": (SHORT, extend_first_bracket),
}


# Where music21 departs: why, the bars that it plays (from 1), the bars that are meant.
NO_BRACKETS = "where there is a jump it plays first and last endings alike, in every pass"
DEPARTS = {
    "quay_clock": (NO_BRACKETS, [1, 2, 3, 1, 2, 3, 4, 5, 2, 6], [1, 2, 3, 1, 2, 4, 5, 2, 6]),
    # The end stands in a first ending, which is then the one that is played after the jump.
    "maple-leaf-rag": (
        NO_BRACKETS,
        [*range(1, 17), *range(1, 18), *range(18, 34), *range(18, 35), *range(1, 17)],
        [*range(1, 17), *range(1, 16), 17, *range(18, 34), *range(18, 33), 34, *range(1, 17)],
    ),
    "two_buoys": (NO_BRACKETS, [1, 2, 1, 2, 3, 4, 5, 6, 1, 2, 3, 4], [1, 2, 1, 3, 4, 5, 6, 1, 3, 4]),
}


def in_order(measures: list[stream.Measure], order: list[int]) -> stream.Part:
    """The bars, counted from 1, one after the other."""
    part = stream.Part()
    for number in order:
        part.append(copy.deepcopy(measures[number - 1]))
    return part


def is_backward(measure: stream.Measure) -> bool:
    return isinstance(measure.rightBarline, bar.Repeat) and measure.rightBarline.direction == "end"


def is_forward(measure: stream.Measure) -> bool:
    return isinstance(measure.leftBarline, bar.Repeat) and measure.leftBarline.direction == "start"


def printed_numbers(path: Path) -> list[str]:
    """The numbers of the bars of the first part as the file has them; music21 makes its own of a number with letters."""
    text = path.read_bytes()
    if path.suffix == ".mxl":
        with zipfile.ZipFile(path) as archive:
            name = next(n for n in archive.namelist() if n.endswith(".xml") and not n.startswith("META-INF"))
            text = archive.read(name)
    return [measure.get("number") for measure in ElementTree.fromstring(text).find("part").iter("measure")]


def expanded(stem: str, part: stream.Part, numbers: list[str]) -> tuple[stream.Part, list[str]]:
    """The part with its repeats played out, each bar with its place on the page; and faults of the repairs."""
    measures = list(part.getElementsByClass(stream.Measure))
    for index, (measure, number) in enumerate(zip(measures, numbers, strict=True)):
        measure.editorial.page = (index, number)
    if stem in DEPARTS:
        reason, theirs, meant = DEPARTS[stem]
        print(f"{stem}: music21 departs ({reason})")
        found = [index + 1 for index, _ in places(part.expandRepeats())]
        return in_order(measures, meant), [] if found == theirs else [f"music21 plays {found}, not {theirs}"]
    if stem not in REPAIRS:
        return part.expandRepeats(), []
    reason, mend = REPAIRS[stem]
    print(f"{stem}: repaired for music21 ({reason})")
    try:
        part.expandRepeats()
        needed = False
    except repeat.ExpanderException as error:
        needed = REFUSED in str(error)
    mend(part)
    return part.expandRepeats(), [] if needed else ["this repair is no longer needed"]


def places(part: stream.Part) -> list[tuple[int, str]]:
    return [measure.editorial.page for measure in part.getElementsByClass(stream.Measure)]


def bar_symbols(measure: stream.Measure) -> list[tuple[Fraction, tuple]]:
    """The chord symbols of a bar, by time in it."""
    symbols = [
        (Fraction(place.elementOffset(symbol)), content_of(symbol))
        for place in [measure, *measure.voices]
        for symbol in place.getElementsByClass(harmony.Harmony)
    ]
    return sorted(symbols, key=lambda symbol: symbol[0])


def symbols_as_played(part: stream.Part) -> tuple[list[tuple[Fraction, Fraction, tuple]], list[str], int]:
    """Symbols with time and end of the bar, the printed number of the bar of each, and how many are said again.

    A bar that is gone back to and has no symbol at its start sounds as it did the first time.
    """
    symbols, numbers, again = [], [], 0
    first_time: dict[int, tuple | None] = {}
    sounding, previous = None, -1
    for measure in part.getElementsByClass(stream.Measure):
        index, number = measure.editorial.page
        start = Fraction(measure.offset)
        end = start + Fraction(measure.duration.quarterLength)
        own = bar_symbols(measure)
        then = first_time.setdefault(index, sounding)
        if index <= previous and then not in (None, sounding) and not (own and own[0][0] == 0):
            own.insert(0, (Fraction(0), then))
            again += 1
        for into, content in own:
            symbols.append((start + into, end, content))
            numbers.append(number)
            sounding = content
        previous = index
    return symbols, numbers, again


def check(page: Path, source: Path, counts: dict[str, int]) -> list[str]:
    """All differences of one tune."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # read_back.py looks at them
        score = converter.parse(page, format="musicxml", forceSource=True)
        written = score.parts[0]
        original = converter.parse(source, format="musicxml", forceSource=True).parts[0]
    measures = list(original.getElementsByClass(stream.Measure))
    has_repeats = any(is_backward(m) or is_forward(m) for m in measures)
    jumps = [place for measure in measures for place in measure.getElementsByClass(repeat.RepeatExpressionCommand)]
    counts["with jumps"] += bool(jumps)
    counts["with repeats"] += has_repeats
    counts["of them with endings"] += has_repeats and bool(brackets(original))
    counts["without a forward sign"] += has_repeats and not any(map(is_forward, measures))
    played, found = expanded(page.stem, original, printed_numbers(source))
    found += [f"two readers: {fault}" for fault in second.compare(page, score)]
    expected_bars = [number for _, number in places(played)]
    counts["bars on the page"] += len(measures)
    counts["bars played"] += len(expected_bars)
    if (has_repeats or bool(jumps)) != (len(expected_bars) > len(measures)):
        found.append(f"{len(measures)} bars, {len(expected_bars)} played: the comparison would say nothing")
    written_measures = list(written.getElementsByClass(stream.Measure))
    bars = printed_numbers(page)
    if bars != expected_bars:
        found.append(f"bars {bars}, expected {expected_bars}")
    if brackets(written) or any(is_backward(m) or is_forward(m) for m in written_measures):
        found.append("the page has signs left")
    described = json.loads(page.with_suffix(".json").read_text())
    expected = [(start, end, midi + described["octave_shift"]) for start, end, midi in melody_of(played)]
    found += differences("melody", expected, melody_of(written))
    found += differences("MIDI melody", expected, midi_melody(page.with_suffix(".mid")))
    symbols, numbers, again = symbols_as_played(played)
    counts["symbols"] += len(symbols)
    counts["symbols said again"] += again
    found_symbols = []
    for measure in written_measures:
        start = Fraction(measure.offset)
        end = start + Fraction(measure.duration.quarterLength)
        found_symbols += [(start + into, end, content) for into, content in bar_symbols(measure)]
    found += compare_symbols(symbols, found_symbols)
    if [chord["bar"] for chord in described["chords"]] != numbers:
        found.append("the JSON names other bars")
    return found


def main() -> int:
    if len(sys.argv) < 3:
        print(__doc__, file=sys.stderr)
        return 2
    folder, sources = Path(sys.argv[1]), [Path(argument) for argument in sys.argv[2:]]
    pages = sorted(folder.glob("*.musicxml"))
    if not pages:
        print(f"no pages in {folder}", file=sys.stderr)
        return 2
    counts = dict.fromkeys(
        ["with jumps", "with repeats", "of them with endings", "without a forward sign", "bars on the page", "bars played", "symbols",
         "symbols said again"], 0)
    failed = 0
    for page in pages:
        candidates = [source / f"{page.stem}{ending}" for source in sources for ending in (".mxl", ".musicxml")]
        source = next((path for path in candidates if path.exists()), None)
        found = check(page, source, counts) if source else ["no source"]
        failed += bool(found)
        for difference in found:
            print(f"{page.stem}: {difference}")
    print(f"{len(pages)} tunes as played, {failed} with differences; " + ", ".join(f"{n} {what}" for what, n in counts.items()))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
