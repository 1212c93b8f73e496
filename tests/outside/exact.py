"""Holds the cheapest path of the arranger against a solver of others: CP-SAT of OR-tools.

    exact.py FILE        checks every instance of the file, exits 1 on any difference
    exact.py --self-test checks this program against plain enumeration, and that it refuses what is wrong

The file holds one JSON object per line:

    {"name": "...", "layers": [{"lefts": 3, "rights": 4, "base": [12 integers or null, a row for each left],
     "from": [{"layer": 0, "left_ways": [...], "right_ways": [...]}]}],
     "cost": 123, "path": [[layer, left, right], ...], "best": [costs of the best paths in order]}

`base[l * rights + r]` is the cost of playing left shape l with right shape r; null where they cannot be played together.
`from` names the earlier layers that this one may follow, with `left_ways[lb * lefts + l]` and
`right_ways[rb * rights + r]`. Layers without `from` are starts, layers that nobody follows are ends. A path goes from a
start to an end; its cost is the sum of its bases and ways. Where there is no path, `cost` and `path` are null.

The model is one of choices, not of steps: a Boolean for each pair that can be played and for each way from pair to pair,
each way costing what the definition says. A pair is chosen as often as a way comes to it and as a way leaves it, one start
and one end are chosen. Nothing is worked out layer by layer, hand by hand, or kept of the best path up to some layer; what
is cheapest, and that nothing is cheaper, is the solver's affair.
"""

import argparse
import itertools
import json
import random
import sys
import time

from ortools.sat.python import cp_model


class Wrong(Exception):
    """What is said of an instance does not hold."""


def expect(holds, message):
    if not holds:
        raise Wrong(message)


def shape_of(instance):
    """Checks the form of an instance; says which layers are starts and which are ends."""
    layers = instance["layers"]
    expect(layers, "no layers")
    followed = set()
    for at, layer in enumerate(layers):
        lefts, rights = layer["lefts"], layer["rights"]
        expect(len(layer["base"]) == lefts * rights, f"layer {at}: base is not of {lefts} times {rights}")
        for way in layer.get("from") or []:
            before = way["layer"]
            expect(0 <= before < at, f"layer {at} follows layer {before}, which is not earlier")
            expect(len(way["left_ways"]) == layers[before]["lefts"] * lefts, f"layer {at}: wrong number of left ways")
            expect(len(way["right_ways"]) == layers[before]["rights"] * rights, f"layer {at}: wrong number of right ways")
            followed.add(before)
        earlier = [way["layer"] for way in layer.get("from") or []]
        expect(len(set(earlier)) == len(earlier), f"layer {at} follows a layer twice")
    starts = {at for at, layer in enumerate(layers) if not layer.get("from")}
    return starts, set(range(len(layers))) - followed


def cost_of(instance, path):
    """What a path costs by the definition; refuses what is not a path."""
    layers = instance["layers"]
    starts, ends = shape_of(instance)
    expect(path, "the path is empty")
    expect(path[0][0] in starts, f"the path begins at layer {path[0][0]}, which is no start")
    expect(path[-1][0] in ends, f"the path stops at layer {path[-1][0]}, which is no end")
    total = 0
    for step, (at, left, right) in enumerate(path):
        expect(0 <= at < len(layers), f"there is no layer {at}")
        layer = layers[at]
        expect(0 <= left < layer["lefts"] and 0 <= right < layer["rights"], f"layer {at} has no pair {left}, {right}")
        base = layer["base"][left * layer["rights"] + right]
        expect(base is not None, f"layer {at}: the pair {left}, {right} cannot be played")
        total += base
        if step:
            before, left_before, right_before = path[step - 1]
            ways = [way for way in layer.get("from") or [] if way["layer"] == before]
            expect(ways, f"layer {at} may not follow layer {before}")
            total += ways[0]["left_ways"][left_before * layer["lefts"] + left]
            total += ways[0]["right_ways"][right_before * layer["rights"] + right]
    return total


class Model:
    """The choices of an instance."""

    def __init__(self, instance):
        self.model = cp_model.CpModel()
        starts, ends = shape_of(instance)
        layers = instance["layers"]
        new, add = self.model.new_bool_var, self.model.add
        terms, self.pairs, self.ways = [], {}, {}
        for at, layer in enumerate(layers):
            for left, right in itertools.product(range(layer["lefts"]), range(layer["rights"])):
                base = layer["base"][left * layer["rights"] + right]
                if base is not None:
                    self.pairs[at, left, right] = new("")
                    terms.append((base, self.pairs[at, left, right]))
        of_layer = [[pair for pair in self.pairs if pair[0] == at] for at in range(len(layers))]
        come, leave = ({pair: [] for pair in self.pairs} for _ in range(2))
        for at, layer in enumerate(layers):
            for way in layer.get("from") or []:
                for before, after in itertools.product(of_layer[way["layer"]], of_layer[at]):
                    left = way["left_ways"][before[1] * layer["lefts"] + after[1]]
                    right = way["right_ways"][before[2] * layer["rights"] + after[2]]
                    choice = self.ways[before, after] = new("")
                    terms.append((left + right, choice))
                    leave[before].append(choice)
                    come[after].append(choice)
        for pair, chosen in self.pairs.items():
            if pair[0] not in starts:
                add(sum(come[pair]) == chosen)
            if pair[0] not in ends:
                add(sum(leave[pair]) == chosen)
        for outer in (starts, ends):
            add(sum(self.pairs[pair] for at in outer for pair in of_layer[at]) == 1)
        self.model.minimize(sum(cost * choice for cost, choice in terms if cost))

    def solve(self, seconds):
        """The cost and the path of a cheapest path; None where there is none."""
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.num_workers = 1
        # The sums alone say almost everything: the solver is to look at all of them as a linear programme too.
        solver.parameters.linearization_level = 2
        # And nothing is gained by looking for what else follows from what.
        solver.parameters.cp_model_probing_level = 0
        solver.parameters.symmetry_level = 0
        solver.parameters.optimize_with_core = True
        solver.parameters.random_seed = 1
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        expect(status == cp_model.OPTIMAL, f"the solver proved nothing within {seconds} s: {solver.status_name(status)}")
        path = [list(pair) for pair, chosen in self.pairs.items() if solver.value(chosen)]
        return round(solver.objective_value), path

    def forbid(self, path):
        """No longer this path; one that visits other layers in between is another path."""
        pairs = [tuple(pair) for pair in path]
        choices = [self.pairs[pair] for pair in pairs] + [self.ways[way] for way in itertools.pairwise(pairs)]
        self.model.add_bool_or([~choice for choice in choices])


def check(instance, seconds=300):
    """Holds what is said of an instance against the solver; gives the processor seconds of the first answer and how
    many costs were compared."""
    cost, path, best = instance["cost"], instance["path"], instance.get("best") or []
    model = Model(instance)
    start = time.process_time()
    found = model.solve(seconds)
    took = time.process_time() - start
    if cost is None:
        expect(found is None, f"said to have no path, the solver found one of {found and found[0]}")
        expect(not path and not best, "no path has a cost")
        return took, 1
    expect(found is not None, f"said to cost {cost}, the solver found no path")
    expect(cost_of(instance, found[1]) == found[0], "the solver's own path costs something else: the model is wrong")
    expect(found[0] == cost, f"said to cost {cost}, the solver found {found[0]}")
    real = cost_of(instance, path)
    expect(real == cost, f"the path is said to cost {cost}, it costs {real}")
    for place, said in enumerate(best):
        if place:
            model.forbid(found[1])
            found = model.solve(seconds)
            expect(found is not None, f"said to have {len(best)} paths, the solver found {place}")
            expect(cost_of(instance, found[1]) == found[0], "the solver's own path costs something else: the model is wrong")
        expect(found[0] == said, f"best {place + 1}: said to cost {said}, the solver found {found[0]}")
    return took, max(1, len(best))


def size_of(instance):
    layers = instance["layers"]
    pairs = max(layer["lefts"] * layer["rights"] for layer in layers)
    return f"{len(layers)} layers, up to {pairs} pairs"


def check_all(instances):
    """Checks all and prints; gives the number of differences."""
    sizes, wrong, compared = {}, 0, 0
    for instance in instances:
        try:
            took, costs = check(instance)
            compared += costs
            sizes.setdefault(size_of(instance), []).append(took)
        except (Wrong, KeyError, TypeError, IndexError) as error:
            wrong += 1
            print(f"{instance.get('name', 'an instance without a name')}: {type(error).__name__}: {error}")
    for size, times in sizes.items():
        print(f"{size}: {len(times)} agree, CP-SAT {sum(times) / len(times):.2f} s each, {max(times):.2f} s at most")
    print(f"{sum(map(len, sizes.values()))} instances agree in {compared} costs, {wrong} differ")
    return wrong


def invented(rng, sizes, branches=False, best=0, holes=0.15, most=40):
    """An instance of random costs, without an answer."""
    layers = []
    for at, (lefts, rights) in enumerate(sizes):
        base = [None if rng.random() < holes else rng.randint(-15, most) for _ in range(lefts * rights)]
        before = [at - 1] if at else []
        if branches and at:
            before = sorted(rng.sample(range(at), rng.randint(0, min(at, 2))))
        ways = [
            {
                "layer": earlier,
                "left_ways": [rng.randint(0, 12) for _ in range(sizes[earlier][0] * lefts)],
                "right_ways": [rng.randint(0, 12) for _ in range(sizes[earlier][1] * rights)],
            }
            for earlier in before
        ]
        layers.append({"lefts": lefts, "rights": rights, "base": base, "from": ways})
    return {"layers": layers}


def all_paths(instance):
    """Every path with its cost, by plain enumeration."""
    layers = instance["layers"]
    starts, ends = shape_of(instance)
    paths = []

    def extend(path):
        at = path[-1][0]
        if at in ends:
            paths.append((cost_of(instance, path), path))
        for after in range(at + 1, len(layers)):
            if any(way["layer"] == at for way in layers[after]["from"]):
                begin(after, path)

    def begin(at, path):
        layer = layers[at]
        for left, right in itertools.product(range(layer["lefts"]), range(layer["rights"])):
            if layer["base"][left * layer["rights"] + right] is not None:
                extend([*path, [at, left, right]])

    for at in starts:
        begin(at, [])
    return sorted(paths)


def refused(instance, why):
    try:
        check(instance)
    except Wrong as error:
        print(f"refused as it must be, {why}: {error}")
        return
    sys.exit(f"self-test: an instance with {why} was taken for right")


def self_test():
    rng = random.Random(7)
    right, empty, skipping = [], 0, 0
    for count in range(60):
        branches = count % 2 == 1
        sizes = [(rng.randint(1, 3), rng.randint(1, 3)) for _ in range(rng.randint(1, 5))]
        instance = invented(rng, sizes, branches, holes=0.7 if count % 10 == 0 else 0.15, most=rng.choice([2, 40]))
        paths = all_paths(instance)
        instance["name"] = f"invented {count}"
        instance["cost"], instance["path"] = paths[0] if paths else (None, None)
        instance["best"] = [cost for cost, _ in paths[:5]]
        empty += not paths
        skipping += len({tuple(at for at, _, _ in path) for _, path in paths[:50]}) > 1
        right.append(instance)
    if not empty or not skipping:
        sys.exit("self-test: no instance without a path, or none whose paths visit different layers")
    # Fewer paths than are asked for: all are listed, and there is not one more.
    for instance in right:
        if instance["path"] and len(instance["best"]) < 5:
            refused({**instance, "best": [*instance["best"], instance["best"][-1]]}, "one path too many")
            break
    else:
        sys.exit("self-test: no instance with few paths")
    if check_all(right):
        sys.exit("self-test: the solver and plain enumeration differ")
    good = next(i for i in right if i["path"] and len(i["path"]) == 5 and len(set(i["best"])) > 1)
    worse = next(found for found in all_paths(good) if found[0] > good["cost"])
    refused({**good, "cost": good["cost"] - 1}, "a cost too low")
    refused({**good, "cost": worse[0], "path": worse[1], "best": []}, "a path that is not the cheapest")
    refused({**good, "path": worse[1]}, "a path that costs more than is said")
    refused({**good, "path": good["path"][:-1]}, "a path that stops early")
    refused({**good, "path": good["path"][1:]}, "a path that begins late")
    refused({**good, "path": [good["path"][0], *good["path"][2:]]}, "a path that leaves out a layer")
    refused({**good, "best": [*good["best"][:-1], good["best"][-1] + 1]}, "a wrong cost in the list of the best")
    refused({**good, "cost": None, "path": None, "best": []}, "a path that was not found")
    silent = next(i for i in right if not i["path"])
    refused({**silent, "cost": 3, "path": [[0, 0, 0]]}, "a path where there is none")
    holed = json.loads(json.dumps(good))
    at, left, right_shape = good["path"][2]
    holed["layers"][at]["base"][left * holed["layers"][at]["rights"] + right_shape] = None
    refused(holed, "a pair that cannot be played")
    print("the differences above were asked for; a whole file with one of them:")
    if check_all([good, {**good, "name": "deliberately wrong", "cost": good["cost"] - 1}]) != 1:
        sys.exit("self-test: a wrong instance among right ones was not counted")
    print("how long the solver takes; nothing is compared but its own path:")
    for lefts, rights, layers in ((6, 10, 8), (6, 10, 16), (10, 12, 8)):
        instance = invented(rng, [(lefts, rights)] * layers)
        model = Model(instance)
        start = time.process_time()
        cost, path = model.solve(300)
        took = time.process_time() - start
        if cost_of(instance, path) != cost:
            sys.exit("self-test: the solver's own path costs something else")
        print(f"{layers} layers of {lefts} times {rights}: {took:.2f} s")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("file", nargs="?", help="instances, one JSON object per line")
    parser.add_argument("--every", type=int, default=1, metavar="N", help="solve every Nth instance only")
    parser.add_argument("--self-test", action="store_true", help="check this program itself")
    options = parser.parse_args()
    if options.self_test:
        self_test()
        return 0
    if not options.file:
        parser.error("a file is needed, or --self-test")
    with open(options.file, encoding="utf-8") as file:
        instances = [json.loads(line) for line in file if line.strip()]
    ours = sorted(instance["seconds"] for instance in instances if "seconds" in instance)
    if ours:
        print(f"the search itself: {ours[len(ours) // 2] * 1e6:.0f} us in the middle, {ours[-1] * 1e6:.0f} us at most")
    instances = instances[:: max(1, options.every)]
    if not instances:
        print("no instances")
        return 1
    return 1 if check_all(instances) else 0


if __name__ == "__main__":
    sys.exit(main())
