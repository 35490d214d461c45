#!/usr/bin/env python3
"""A second compiler of plan files, written from the text of the format alone.

It is there to disagree with the one in Rust. It is therefore literal and
slow: one rule of the text after the other, no shared code, no cleverness.
It takes plans that are valid; refusing bad ones is tested elsewhere.

    reference.py FILE.json    print the segments of one plan
    reference.py --check      compare every plan beside this file with its golden
"""

import json
import pathlib
import sys

DEFAULT_READY = 10


def by_number(value, number):
    """Seconds, or a list of seconds: number k (from 1) uses entry k, starting over."""
    if isinstance(value, list):
        return value[(number - 1) % len(value)]
    return value


def other(side):
    return "left" if side == "right" else "right"


def as_entry(entry):
    """An entry is the id alone or an object."""
    return {"move": entry} if isinstance(entry, str) else entry


def work_seconds(block, entry, number):
    own = entry.get("work")
    return by_number(block["work"] if own is None else own, number)


def goes(block, entry, move, number):
    """The sides of an entry's work segments; `number` is the round or the set."""
    if not move.get("sided", False):
        return ["none"]
    if "side" in entry:
        return [entry["side"]]
    first = block.get("first_side", "right")
    sides = entry.get("sides", block.get("sides", "paired"))
    if sides == "paired":
        return [first, other(first)]
    if sides == "alternate":
        return [first if number % 2 == 1 else other(first)]
    if sides == "half":
        return ["half:" + first]
    raise ValueError(f"sides {sides!r}")


def ladder_rounds(block):
    """The flattened entries of each round of a ladder."""
    rungs = block["rungs"]
    n = len(rungs)
    direction = block.get("direction", "up")
    if direction == "up":
        tops = list(range(1, n + 1))
    elif direction == "down":
        tops = [n - k + 1 for k in range(1, n + 1)]
    elif direction == "up-down":
        tops = list(range(1, n + 1)) + list(range(n - 1, 0, -1))
    else:
        raise ValueError(f"direction {direction!r}")
    return [[entry for rung in rungs[:top] for entry in rung] for top in tops]


class Compiler:
    def __init__(self, plan):
        self.plan = plan
        self.moves = {move["id"]: move for move in plan["moves"]}
        self.shown = set()
        self.now = 0
        self.rows = []
        # The break or rest that may still be shortened by the demos to come.
        self.open_gap = None

    def segment(self, kind, seconds, block, round_, rounds, entry="-", entries="-",
                move="-", side="-", held=False):
        """A gap of zero seconds makes no segment."""
        if seconds == 0:
            return
        start = self.now
        self.now += seconds * 1000
        self.rows.append([len(self.rows), kind, start, self.now, block, round_, rounds,
                          entry, entries, move, side, "held" if held else "-"])

    def is_held(self, b):
        return self.plan["blocks"][b].get("held", False)

    def leave_gap(self, kind, seconds, b, round_, rounds):
        """Note a break or rest; what comes next decides how long it is."""
        self.open_gap = (kind, seconds, b, round_, rounds)

    def close_gap(self, taken):
        if self.open_gap is None:
            return
        kind, seconds, b, round_, rounds = self.open_gap
        self.open_gap = None
        self.segment(kind, max(0, seconds - taken), b, round_, rounds, held=self.is_held(b))

    def arrive(self, b, round_, rounds, move_ids):
        """Close the gap before a round (in a flow: a step) that works these moves."""
        demos = []
        for id_ in move_ids:
            if self.moves[id_].get("demo", 0) > 0 and id_ not in self.shown:
                self.shown.add(id_)
                demos.append(id_)
        self.close_gap(sum(self.moves[id_]["demo"] for id_ in demos))
        opens_class = not self.rows
        for id_ in demos:
            self.segment("demo", self.moves[id_]["demo"], b, round_, rounds, move=id_,
                         held=self.is_held(b))
        if opens_class:
            self.segment("ready", self.plan.get("ready", DEFAULT_READY), b, round_, rounds)

    def work_entry(self, b, block, entry, number, round_, rounds, at, of):
        """The one or two work segments of an entry, with the change between."""
        entry = as_entry(entry)
        move = self.moves[entry["move"]]
        for nth, side in enumerate(goes(block, entry, move, number)):
            if nth == 1:
                self.segment("change", block.get("change", 0), b, round_, rounds)
            self.segment("work", work_seconds(block, entry, number), b, round_, rounds,
                         at, of, entry["move"], side)

    def flow(self, b, block):
        steps = block["steps"]
        for at, step in enumerate(steps, 1):
            self.arrive(b, 1, 1, [as_entry(step)["move"]])
            self.work_entry(b, block, step, 1, 1, 1, at, len(steps))
            if at < len(steps):
                self.leave_gap("rest", by_number(block.get("rest", 0), 1), b, 1, 1)
        return 1

    def rounds_of_entries(self, b, block, rounds):
        """`rounds` and `ladder`: a list of entries for each round."""
        for number, entries in enumerate(rounds, 1):
            self.arrive(b, number, len(rounds), [as_entry(e)["move"] for e in entries])
            for at, entry in enumerate(entries, 1):
                self.work_entry(b, block, entry, number, number, len(rounds), at, len(entries))
                if at < len(entries):
                    self.segment("rest", by_number(block.get("rest", 0), number), b, number,
                                 len(rounds), held=self.is_held(b))
            if number < len(rounds):
                self.leave_gap("break", by_number(block.get("break", 0), number), b, number,
                               len(rounds))
        return len(rounds)

    def sets(self, b, block):
        entries = block["moves"]
        sets = block.get("sets", 1)
        for round_, entry in enumerate(entries, 1):
            self.arrive(b, round_, len(entries), [as_entry(entry)["move"]])
            for number in range(1, sets + 1):
                self.work_entry(b, block, entry, number, round_, len(entries), number, sets)
                if number < sets:
                    self.segment("rest", by_number(block.get("rest", 0), number), b, round_,
                                 len(entries), held=self.is_held(b))
            if round_ < len(entries):
                self.leave_gap("break", by_number(block.get("break", 0), round_), b, round_,
                               len(entries))
        return len(entries)

    def window(self, b, block):
        tasks = [as_entry(task)["move"] for task in block["tasks"]]
        times = block.get("times", 1)
        self.arrive(b, 1, 1, tasks)
        for number in range(1, times + 1):
            self.segment("work", by_number(block["work"], number), b, 1, 1, number, times,
                         tasks[0], "none")
            if number < times:
                self.segment("rest", by_number(block.get("rest", 0), number), b, 1, 1,
                             held=self.is_held(b))
        return 1

    def interlude(self, b, block):
        self.arrive(b, 1, 1, [])
        self.segment("interlude", block["lasts"], b, 1, 1, held=self.is_held(b))
        return 1

    def compile(self):
        for b, block in enumerate(self.plan["blocks"]):
            kind = block["kind"]
            if kind == "flow":
                rounds = self.flow(b, block)
            elif kind == "rounds":
                rounds = self.rounds_of_entries(b, block, [block["moves"]] * block.get("rounds", 1))
            elif kind == "ladder":
                rounds = self.rounds_of_entries(b, block, ladder_rounds(block))
            elif kind == "sets":
                rounds = self.sets(b, block)
            elif kind == "window":
                rounds = self.window(b, block)
            elif kind == "interlude":
                rounds = self.interlude(b, block)
            else:
                raise ValueError(f"kind {kind!r}")
            self.leave_gap("break", block.get("after", 0), b, rounds, rounds)
        self.close_gap(0)
        return self.rows


def dump(path):
    plan = json.loads(path.read_text(encoding="utf-8"))
    return ["\t".join(str(cell) for cell in row) for row in Compiler(plan).compile()]


def check(folder):
    """The number of plans whose golden is missing or says something else."""
    bad = 0
    plans = sorted(folder.glob("*.json"))
    for path in plans:
        golden = path.with_suffix(".segments")
        if not golden.exists():
            print(f"{path.name}: no {golden.name}")
            bad += 1
            continue
        lines = golden.read_text(encoding="utf-8").splitlines()
        expected = [line for line in lines if not line.startswith("#")]
        found = dump(path)
        if found == expected:
            continue
        bad += 1
        print(f"{path.name}: {len(expected)} lines in the golden, {len(found)} from the reference")
        for n in range(max(len(expected), len(found))):
            want = expected[n] if n < len(expected) else "(nothing)"
            got = found[n] if n < len(found) else "(nothing)"
            if want != got:
                print(f"  golden    {want}\n  reference {got}")
    for golden in sorted(folder.glob("*.segments")):
        if not golden.with_suffix(".json").exists():
            print(f"{golden.name}: no plan")
            bad += 1
    if not plans:
        print("no plan found")
        bad += 1
    print(f"{len(plans)} plans, {bad} differences")
    return bad


def main(arguments):
    if arguments == ["--check"]:
        return 1 if check(pathlib.Path(__file__).resolve().parent) else 0
    if len(arguments) == 1 and not arguments[0].startswith("-"):
        print("\n".join(dump(pathlib.Path(arguments[0]))))
        return 0
    print(__doc__, file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
