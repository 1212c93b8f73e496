#!/usr/bin/env python3
"""The files of the census against the outside: music21, published formulas of roughness, and what the files promise.

    census.py PROGRAM FOLDER sample     names of set classes and roughness of a sample from the whole full space
    census.py PROGRAM FOLDER same       threads, shards and interrupted runs make the same files, byte by byte
    census.py PROGRAM FOLDER readers    files of Parquet, as four readers have them: what the JSON lines say
    census.py PROGRAM FOLDER refused    bad input and a disk without room: said, and nothing half written

PROGRAM is the example `census` built with the feature `parquet`; FOLDER is for what it writes.
"""

import csv
import errno
import hashlib
import itertools
import json
import math
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

FORMATS = ("csv", "jsonl", "parquet")


class Program:
    def __init__(self, path, folder):
        self.path, self.folder = path, Path(folder)
        shutil.rmtree(self.folder, ignore_errors=True)
        self.folder.mkdir(parents=True)

    def command(self, arguments):
        return [str(self.path), *map(str, arguments)]

    def run(self, *arguments):
        ended = subprocess.run(self.command(arguments), capture_output=True, text=True)
        assert ended.returncode == 0, f"{arguments}: {ended.stderr}"
        return ended.stdout

    def refuse(self, says, *arguments, **options):
        """It ends with status 2, says this, and what would help."""
        options = {"stdout": subprocess.PIPE, **options}
        ended = subprocess.run(self.command(arguments), stderr=subprocess.PIPE, text=True, **options)
        said = ended.stderr
        assert ended.returncode == 2, f"{arguments}: status {ended.returncode}: {said}"
        assert said.startswith("error: ") and says in said, f"{arguments}: expected `{says}` in: {said}"
        assert "\nhelp: " in said or "--help" in said, f"{arguments}: no help in: {said}"
        assert "panicked" not in said, said

    def new(self, name):
        return self.folder / name


def parts(folder, ending="*"):
    return sorted(folder.glob(f"part-*.{ending}"))


def table(folder):
    for part in parts(folder, "csv"):
        with part.open(newline="") as file:
            yield from csv.DictReader(file)


def numbers(cell):
    return [int(number) for number in cell.split()]


# Names of set classes, by music21.


class SetClasses:
    """Forte's name with the side, prime form and interval vector of a set of pitch classes, asked of music21 once for each set.

    The tables of music21 10.5.1 know which classes are Z-related but leave the Z out of the names. It is restored by Forte's own
    definition (*The Structure of Atonal Music*, Yale University Press 1973): another class of as many pitch classes has the
    same interval vector.
    """

    def __init__(self):
        from music21 import chord, pitch

        # A chord of pitches is made a hundred times as fast as one of numbers, which are spelled first.
        self.pitches = [pitch.Pitch(number) for number in range(12)]
        self.chord, self.known = chord, {}
        self.related = set()
        for cardinality, classes in enumerate(chord.tables.FORTE):
            vectors = Counter(entry[1] for entry in (classes or ()) if entry)
            for number, entry in enumerate(classes or ()):
                if entry and vectors[entry[1]] > 1:
                    self.related.add((cardinality, number))
                # The tables say it a second time, by the number of the other class; 1 and 0 or 12 notes have no other.
                assert not entry or (vectors[entry[1]] > 1) == (entry[3] != 0), (cardinality, number)
        # Forte 1973, appendix 1: 46 classes of three to nine pitch classes are Z-related, in 23 pairs.
        assert len(self.related) == 46, len(self.related)

    def of(self, midi):
        key = frozenset(note % 12 for note in midi)
        if key not in self.known:
            found = self.chord.Chord([self.pitches[number] for number in sorted(key)])
            cardinality, rest = found.forteClass.replace("Z", "").split("-")
            z = "Z" if (int(cardinality), int(rest.rstrip("AB"))) in self.related else ""
            self.known[key] = (f"{cardinality}-{z}{rest}", list(found.primeForm), list(found.intervalVector))
        return self.known[key]


# Roughness, by the published formulas.

HARMONICS = 11


def hertz(midi):
    return 440 * 2 ** ((midi - 69) / 12)


def bandwidth(mean):
    """Mashinter, *Empirical Musicology Review* 1 (2006), 65-84."""
    return 1.72 * mean**0.65


def hutchinson_knopoff_curve(bandwidths):
    """Hutchinson & Knopoff, *Interface* 7 (1978), 1-29, in Mashinter's form, with its end at 1.2."""
    y = bandwidths / 0.25
    return (y * math.exp(1 - y)) ** 2 if bandwidths <= 1.2 else 0.0


def fused(partials):
    """Partials on one frequency are one: amplitudes add as the root of the squares. Here they are one within a millionth."""
    heard = []
    for frequency, amplitude in sorted(partials):
        if heard and math.isclose(heard[-1][0], frequency, rel_tol=1e-6):
            heard[-1] = (heard[-1][0], math.hypot(heard[-1][1], amplitude))
        else:
            heard.append((frequency, amplitude))
    return heard


def hutchinson_knopoff(partials):
    sum_of_pairs = sum(
        a * b * hutchinson_knopoff_curve(abs(g - f) / bandwidth((f + g) / 2))
        for (f, a), (g, b) in itertools.combinations(partials, 2)
    )
    return sum_of_pairs / sum(a * a for _, a in partials)


def sethares(partials):
    """Sethares, *JASA* 94 (1993), 1218-1228, with the constants of his published program; the smaller amplitude counts, as
    in *Tuning, Timbre, Spectrum, Scale* (2005)."""
    total = 0.0
    for (f, a), (g, b) in itertools.combinations(partials, 2):
        x = 0.24 / (0.0207 * min(f, g) + 18.96) * abs(g - f)
        total += min(a, b) * (5 * math.exp(-3.51 * x) - 5 * math.exp(-5.75 * x))
    return total


def tones(midi, harmonics=HARMONICS):
    return [(n * hertz(key), 1 / n) for key in midi for n in range(1, harmonics + 1)]


def check_the_formulas():
    """The functions above against published values, before they judge anything."""

    def near(value, published, places):
        assert abs(value - published) <= 0.5000001 * 10**-places, (value, published)

    # The tests of P. Harrison's `dycon`, which follow Mashinter 2006 for Hutchinson & Knopoff 1978.
    near(hutchinson_knopoff_curve(1), 0.0397, 4)
    near(hutchinson_knopoff_curve(0.5), 0.5413, 4)
    near(bandwidth((400 + 440) / 2), 87.225, 3)
    near(bandwidth((400 + 380) / 2), 83.123, 3)
    dyads_and_triads = [((60, 61), 1, 0.499), ((60, 61), 11, 0.484), ((69, 70), 1, 0.491), ((60, 64, 67), 11, 0.120), ((60, 63, 67), 11, 0.130)]
    for keys, harmonics, published in dyads_and_triads:
        near(hutchinson_knopoff(fused(tones(keys, harmonics))), published, 3)
    # The program of Sethares, as the same tests have its values, against that of 440 and 460 Hz.
    unit = sethares([(440, 1), (460, 1)])
    for partials, published in [
        ([(440, 1), (460, 1), (480, 1)], 2.9194),
        ([(440, 1), (460, 2), (480, 3)], 3.9161),
        ([(440, 3), (460, 2), (480, 1)], 3.9194),
        ([(300, 1.5), (250, 2), (275, 9), (425, 4)], 4.8657),
    ]:
        near(sethares(partials) / unit, published, 4)


# A number of three places is half a thousandth off; pairs of keys, in millionths, are as many halves off as there are pairs.
ROUNDED = 0.0005 + 40 * 0.5e-6
# What the documentation of the census allows where keys lie octaves apart: never less than the model, and so much more.
SHARE_MORE, MORE = 1.39, 0.22


def compare_roughness(row, seen):
    midi = numbers(row["midi"])
    apart = all((a - b) % 12 for a, b in itertools.combinations(midi, 2))
    said = float(row["roughness_sethares"])
    assert abs(said - sethares(tones(midi))) <= ROUNDED, row
    said = float(row["roughness_hutchinson_knopoff"])
    # Each partial by itself: what a table of pairs of keys adds up.
    assert abs(said - hutchinson_knopoff(tones(midi))) <= ROUNDED, row
    model = hutchinson_knopoff(fused(tones(midi)))
    if apart:
        assert abs(said - model) <= ROUNDED, row
    else:
        assert model - ROUNDED <= said <= min(SHARE_MORE * model, model + MORE) + ROUNDED, (row, model)
        seen["most"] = max(seen["most"], said / model)
    seen["octaves" if not apart else "apart"] += 1


ROUGH_EVERY = 61


def sample(program):
    """On each root every twelfth chord, with a third of the shells and one way to place each triad: on twelve roots all are met."""
    check_the_formulas()
    classes = SetClasses()
    length = int(program.run("--space", "full", "--count"))
    first = program.new("first")
    program.run("--space", "full", "--range", "0..1", "--columns", "label", "--out", first)
    space = manifest(first)["run"]["census"]["space"]
    ways = list(itertools.product(space["inversions"], space["spacings"]))
    columns = "index,root,quality,shell,label,inversion,spacing,left_lowest,midi,forte,prime_form,interval_vector"
    columns += ",roughness_hutchinson_knopoff,roughness_sethares"
    met = {name: set() for name in ("root", "quality", "shell", "label", "inversion", "spacing", "forte")}
    rows, rough, seen = 0, 0, {"octaves": 0, "apart": 0, "most": 0.0}
    for root in range(12):
        inversion, spacing = ways[root % 6]
        folder = program.new(f"root-{root}")
        asked = ["--space", "full", "--range", f"{length * root // 12}..{length * (root + 1) // 12}"]
        asked += ["--inversion", inversion, "--spacing", spacing, "--columns", columns, "--part", 1_000_000]
        asked += [f"--chord={chord}" for chord in space["chords"][root::12]]
        # Every chord has the last shell, the root alone.
        asked += [f"--shell={shell}" for shell in {*space["shells"][root % 3 :: 3], space["shells"][-1]}]
        program.run(*asked, "--out", folder)
        before = -1
        for row in table(folder):
            rows += 1
            assert before < int(row["index"]), row
            before = int(row["index"])
            name, prime, vector = classes.of(numbers(row["midi"]))
            assert row["forte"] == name, (row, name)
            assert numbers(row["prime_form"]) == prime, (row, prime)
            assert numbers(row["interval_vector"]) == vector, (row, vector)
            for column, values in met.items():
                values.add(row[column])
            if rows % ROUGH_EVERY == 0:
                rough += 1
                compare_roughness(row, seen)
    assert rows >= 10_000, rows
    for column, count in [("root", 12), ("quality", 80), ("shell", 10), ("label", 52), ("inversion", 3), ("spacing", 2)]:
        assert len(met[column]) == count, (column, met[column])
    assert any("Z" in name for name in met["forte"]) and len(met["forte"]) > 100, met["forte"]
    print(
        f"{rows} rows of {length}, {len(classes.known)} sets, {len(met['forte'])} names of set classes: as music21 says; roughness of {rough} rows as"
        f" published: {seen['apart']} equal, {seen['octaves']} with octaves at most {seen['most']:.3f} times"
    )


# The same files, however they are made.

PART, PARTS = 600, 12
SAME = ["--space", "usual", "--range", f"0..{PART * PARTS}", "--part", PART]


def manifest(folder, name="manifest.json"):
    return json.loads((folder / name).read_text())


def check_manifest(folder, said):
    """Every part is there as it says, and its numbers add up."""
    for part in said["parts"].values():
        data = (folder / part["file"]).read_bytes()
        assert len(data) == part["bytes"] and hashlib.sha256(data).hexdigest() == part["sha256"], part
        assert part["rows"] == sum(part["verdicts"].values()), part
    assert said["rows"] == sum(part["rows"] for part in said["parts"].values())
    for verdict in ("clash", "plain", "colour"):
        assert said["verdicts"][verdict] == sum(part["verdicts"][verdict] for part in said["parts"].values())
    wanted = range(said["run"]["start"] // PART, math.ceil(said["run"]["end"] / PART))
    assert said["complete"] == (len(said["parts"]) == len(wanted)), said


def contents(folder):
    """The files by name and sum; nothing else may lie there."""
    names = {path.name for path in folder.iterdir()}
    strange = {name for name in names if not name.startswith(("part-", "manifest"))}
    assert not strange, strange
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in parts(folder)}


def killed(program, asked, folder, of):
    """Starts a run and kills it when some files are there and others not; says what its manifest has. A run that is too fast is
    started again, a few times."""
    for _ in range(20):
        shutil.rmtree(folder, ignore_errors=True)
        running = subprocess.Popen(program.command([*asked, "--threads", 1, "--out", folder]), stdout=subprocess.DEVNULL)
        while len(parts(folder)) < 2 and running.poll() is None:
            time.sleep(0.0002)
        running.send_signal(signal.SIGKILL)
        if running.wait() == -signal.SIGKILL:
            said = manifest(folder)
            check_manifest(folder, said)
            if not said["complete"] and said["parts"]:
                assert 0 < len(said["parts"]) < of, said
                return said
    raise AssertionError("no run could be killed half way")


def same(program):
    for ending in FORMATS:
        asked = [*SAME, "--format", ending]
        one = program.new(f"{ending}-one")
        program.run(*asked, "--threads", 1, "--out", one)
        files, said = contents(one), manifest(one)
        check_manifest(one, said)
        assert said["complete"] and len(files) == PARTS and said["rows"] == PART * PARTS, said

        four = program.new(f"{ending}-four")
        program.run(*asked, "--threads", 4, "--out", four)
        assert contents(four) == files and manifest(four) == said, ending

        shards = program.new(f"{ending}-shards")
        for shard in (2, 0, 3, 1):
            program.run(*asked, "--shard", f"{shard}/4", "--out", shards)
        assert contents(shards) == files, ending
        of_shards = [manifest(shards, f"manifest-{shard}-of-4.json") for shard in range(4)]
        for of_shard in of_shards:
            check_manifest(shards, of_shard)
            assert of_shard["complete"] and of_shard["run"]["census"] == said["run"]["census"]
        assert {k: v for of_shard in of_shards for k, v in of_shard["parts"].items()} == said["parts"], ending

        broken = program.new(f"{ending}-killed")
        before = killed(program, asked, broken, PARTS)
        kept = {part["file"]: (broken / part["file"]).stat().st_mtime_ns for part in before["parts"].values()}
        # What such a run may leave beside its files.
        (broken / ".manifest.json.1-2.part").write_text("{")
        program.run(*asked, "--threads", 3, "--resume", "--out", broken)
        assert contents(broken) == files and manifest(broken) == said, ending
        # What was complete is not written again.
        assert all((broken / name).stat().st_mtime_ns == then for name, then in kept.items()), ending

        # One file with another byte, one too short, one gone: those three are written again, and no other.
        names = sorted(files)
        changed = bytearray((broken / names[1]).read_bytes())
        changed[len(changed) // 2] ^= 1
        (broken / names[1]).write_bytes(changed)
        (broken / names[4]).write_bytes((broken / names[4]).read_bytes()[:-1])
        (broken / names[7]).unlink()
        kept = {name: (broken / name).stat().st_mtime_ns for name in names if name not in (names[1], names[4], names[7])}
        told = program.run(*asked, "--resume", "--out", broken)
        assert "3 files were not as they had been written" in told and f"{3 * PART} rows written" in told, told
        assert contents(broken) == files and manifest(broken) == said, ending
        assert all((broken / name).stat().st_mtime_ns == then for name, then in kept.items()), ending

    # A filter leaves rows out and changes none.
    some = program.new("filtered")
    labels, inversions = ("II", "vi", "#iv°"), ("root", "second")
    program.run(*SAME, *(f"--label={label}" for label in labels), *(f"--inversion={i}" for i in inversions), "--out", some)
    wanted = [r for r in table(program.new("csv-one")) if r["label"] in labels and r["inversion"] in inversions]
    assert 0 < len(wanted) == manifest(some)["rows"] and list(table(some)) == wanted

    # Shards whose ends lie within a file: more files, the same rows.
    uneven = program.new("uneven")
    asked = [*SAME, "--format", "csv"]
    for shard in range(7):
        program.run(*asked, "--shard", f"{shard}/7", "--out", uneven)
    assert len(parts(uneven)) > PARTS
    assert list(table(uneven)) == list(table(program.new("csv-one")))
    print(f"{len(FORMATS)} formats, {PARTS} files each: the same by one thread, four threads, shards, after SIGKILL, after damage")


# What is refused.

# Another run into a folder that holds the numbers 0 to 1000 of the usual space as CSV with all columns.
MIXED = [
    ("the folder holds `0..1000` already", ["--range", "0..3000", "--shard", "0/2"]),
    ("other columns", ["--shard", "1/2", "--columns", "index"]),
    ("other rules", ["--shard", "1/2", "--rules", "strict-diatonic"]),
    ("another format", ["--shard", "1/2", "--format", "jsonl"]),
]


# Files of Parquet, by readers of others.


def plain(value):
    """Lists as lists, and nothing as nothing."""
    if hasattr(value, "tolist"):
        return value.tolist()
    return None if isinstance(value, float) and math.isnan(value) else value


def by_pyarrow(files):
    from pyarrow import parquet

    return [row for file in files for row in parquet.ParquetFile(file).read().to_pylist()]


def by_duckdb(files):
    import duckdb

    found = duckdb.sql(f"select * from read_parquet({[str(file) for file in files]}) order by index")
    return [dict(zip(found.columns, row)) for row in found.fetchall()]


def by_polars(files):
    import polars

    return polars.concat([polars.read_parquet(file) for file in files]).to_dicts()


def by_pandas(files):
    import pandas

    rows = pandas.concat(map(pandas.read_parquet, files)).to_dict("records")
    return [{name: plain(value) for name, value in row.items()} for row in rows]


def readers(program):
    """Short stretches from everywhere, and a long one with several pages and groups of rows in a file, and several files."""
    length = int(program.run("--space", "full", "--count"))
    starts = range(0, length - 1_000, length // 8)
    asked = [["--space", "full", "--range", f"{start}..{start + 1_000}"] for start in starts]
    some = "sounding,right,rules,midi,cost,reachable,roughness_sethares,index"
    asked.append(["--space", "full", "--part", 140_000, "--range", "4480000..4625000", "--columns", some])
    asked.append(["--space", "usual", "--label", "II", "--root", "Eb"])
    seen, nothing, groups = 0, 0, 0
    for number, options in enumerate(asked):
        lines, files = program.new(f"{number}-lines"), program.new(f"{number}-parquet")
        program.run(*options, "--format", "jsonl", "--out", lines)
        program.run(*options, "--format", "parquet", "--out", files)
        rows = [json.loads(line) for part in parts(lines, "jsonl") for line in part.open()]
        for by in (by_pyarrow, by_duckdb, by_polars, by_pandas):
            found = by(parts(files, "parquet"))
            assert len(found) == len(rows), (options, by.__name__, len(found), len(rows))
            for one, other in zip(found, rows):
                assert one == other, (options, by.__name__, one, other)
        seen += len(rows)
        nothing += sum(row["sounding"] is None for row in rows)
        from pyarrow import parquet

        groups = max(groups, *(parquet.read_metadata(file).num_row_groups for file in parts(files, "parquet")))
    assert nothing > 1_000 and groups > 1, (nothing, groups)
    print(f"{seen} rows of Parquet read by pyarrow, DuckDB, Polars and pandas: what the JSON lines say")


def small_files(most):
    """Files may not grow beyond this: to the program it is a disk without room, an error of `write`."""

    def limit():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))

    return {"preexec_fn": limit}


def full_disk(program, ending):
    asked = ["--space", "usual", "--range", "0..3_000", "--part", 500, "--threads", 1, "--format", ending]
    one = program.new(f"{ending}-room")
    program.run(*asked, "--out", one)
    files, said = contents(one), manifest(one)
    sizes = [part.stat().st_size for part in parts(one)]
    largest = sizes.index(max(sizes))
    manifest_size = (one / "manifest.json").stat().st_size
    assert largest > 0 and manifest_size < max(sizes), sizes

    # The largest file does not get its last byte: those before it are there, and nothing of it.
    full = program.new(f"{ending}-full")
    program.refuse(os.strerror(errno.EFBIG), *asked, "--out", full, **small_files(max(sizes) - 1))
    left = contents(full)
    assert left == {name: files[name] for name in sorted(files)[:largest]}, left
    assert sorted(part["file"] for part in manifest(full)["parts"].values()) == sorted(left)
    assert not manifest(full)["complete"]
    # As often as there is no room, and then there is.
    program.refuse(os.strerror(errno.EFBIG), *asked, "--out", full, "--resume", **small_files(max(sizes) - 1))
    assert contents(full) == left
    program.run(*asked, "--out", full, "--resume")
    assert contents(full) == files and manifest(full) == said

    # Not even room for the manifest.
    bare = program.new(f"{ending}-bare")
    program.refuse(os.strerror(errno.EFBIG), *asked, "--out", bare, **small_files(10))
    assert not any(bare.iterdir()), list(bare.iterdir())
    program.run(*asked, "--out", bare)
    assert contents(bare) == files and manifest(bare) == said

    # A device that is always full stands where the fourth file is written.
    device = program.new(f"{ending}-device")
    device.mkdir()
    fourth = sorted(files)[3]
    (device / f".{fourth}.open").symlink_to("/dev/full")
    program.refuse(os.strerror(errno.ENOSPC), *asked, "--out", device)
    assert contents(device) == {name: files[name] for name in sorted(files)[:3]}
    program.run(*asked, "--out", device, "--resume")
    assert contents(device) == files and manifest(device) == said


def refused(program):
    out = program.new("out")
    slice_of = ["--range", "0..1000", "--out", out]
    nothing = [
        ("the range `9..3` is reversed", ["--range", "9..3", "--out", out]),
        ("ends behind the last of", ["--range", "0..99_999_999", "--out", out]),
        ("ends behind the last of", ["--range", "0..99_999_999", "--count"]),
        ("a range is two numbers", ["--range", "3-9", "--out", out]),
        ("a range is two numbers", ["--range", "0..99999999999999999999", "--out", out]),
        ("there is no shard `4/4`", ["--shard", "4/4", "--out", out]),
        ("there is no shard `0/0`", ["--shard", "0/0", "--out", out]),
        ("a shard is its number", ["--shard", "1", "--out", out]),
        ("0 is not in 1..", ["--part", "0", "--out", out]),
        ("0 is not in 1..", ["--threads", "0", "--out", out]),
        ("`loudness` is not a column", ["--columns", "index,loudness", "--out", out]),
        ("cannot read `no-such-set`", ["--rules", "no-such-set", "--out", out]),
        ("space `no-such-space`", ["--space", "no-such-space", "--out", out]),
        ("the inversions are", ["--inversion", "third", "--out", out]),
        ("required", ["--range", "0..1000"]),
    ]
    for says, arguments in nothing:
        program.refuse(says, *arguments)
        assert not out.exists(), arguments

    # A folder in use, by another run or by the same.
    program.run(*slice_of)
    files, said = contents(out), (out / "manifest.json").read_bytes()
    space = manifest(out)["run"]["census"]["space"]
    other = program.new("space.json")
    other.write_text(json.dumps({**space, "lowest": 40}))
    wrong = program.new("wrong.json")
    wrong.write_text(json.dumps({**space, "lowset": 40}))
    program.refuse("the folder holds a census already", *slice_of)
    for says, arguments in [
        ("other rules", ["--rules", "strict-diatonic"]),
        ("another space", ["--space", other]),
        ("another space", ["--hand", "small"]),
        ("another filter", ["--spacing", "open"]),
        ("other columns", ["--columns", "index,midi"]),
        ("another format", ["--format", "jsonl"]),
        ("parts of another length", ["--part", "500"]),
        ("unknown field `lowset`", ["--space", wrong]),
    ]:
        program.refuse(says, *slice_of, *arguments, "--resume")
    program.refuse("another range", "--range", "0..2000", "--out", out, "--resume")
    for says, arguments in MIXED:
        program.refuse(says, *arguments, "--out", out)
        program.refuse(says, *arguments, "--out", out, "--resume")
    (out / "manifest.json").write_text("{}")
    program.refuse("missing field", *slice_of, "--resume")
    (out / "manifest.json").write_bytes(said)
    assert contents(out) == files, "a refused run changes nothing"
    program.run(*slice_of, "--resume")
    assert contents(out) == files and (out / "manifest.json").read_bytes() == said

    # No folder can be made.
    (program.folder / "file").write_text("in the way")
    program.refuse("file/below", "--range", "0..10", "--out", program.new("file") / "below")

    for ending in FORMATS:
        full_disk(program, ending)

    # No room for what is printed.
    with open("/dev/full", "w") as full:
        ended = subprocess.run(program.command(["--count"]), stdout=full, stderr=subprocess.PIPE, text=True)
        assert ended.returncode == 2 and ended.stderr.startswith("error: cannot print: "), ended
    print(f"{len(nothing)} wrong options, folders in use, disks without room: refused, nothing half written, resumed")


def main():
    path, folder, what = sys.argv[1:]
    checks = {"sample": sample, "same": same, "readers": readers, "refused": refused}
    checks[what](Program(path, Path(folder) / what))


if __name__ == "__main__":
    main()
