"""Golden values for the shortest hour, from a general-purpose solver.

Makes small invented instances of the format pinfold-sched-1 (kind session), solves each with OR-Tools'
CP-SAT (PyPI: ortools 9.15, Apache-2.0), and prints one JSON object a line: the instance, and the
solver's status and value. The model is written down here on its own, from the rules of the format; it
shares nothing with our solver, and needs no order among equal needles.

    python3 -m venv /tmp/golden && /tmp/golden/bin/pip install ortools==9.15.6755
    /tmp/golden/bin/python tests/golden/hour.py > tests/golden/hour.jsonl

Only what CP-SAT proved is kept (OPTIMAL or INFEASIBLE), so running it again gives the same lines.
All data are invented.
"""

import json
import random
import sys

from ortools.sat.python import cp_model


def solve(instance, seconds):
    groups = instance["groups"]
    horizon = 40_000
    model = cp_model.CpModel()
    intervals, end_of = [], {}
    start_of = {}

    def op(name, takes):
        start_of[name] = model.new_int_var(0, horizon, name)
        end_of[name] = start_of[name] + takes
        intervals.append(model.new_fixed_size_interval_var(start_of[name], takes, name))

    op("open", instance["open"]["duration"])
    op("close", instance["close"]["duration"])
    for g, group in enumerate(groups):
        if group["setup"] > 0:
            op(f"set.{g}", group["setup"])
        for i in range(group["needles"]):
            op(f"ins.{g}.{i}", group["insert"])
            op(f"rem.{g}.{i}", group["remove"])
            stay = start_of[f"rem.{g}.{i}"] - end_of[f"ins.{g}.{i}"]
            model.add(stay >= group["retention"]["min"])
            model.add(stay <= group["retention"]["max"])
    for cream in instance["topical"]:
        op("app." + cream["id"], cream["apply"])
        op("wip." + cream["id"], cream["wipe"])
        dwell = start_of["wip." + cream["id"]] - end_of["app." + cream["id"]]
        model.add(dwell >= cream["dwell"]["min"])
        model.add(dwell <= cream["dwell"]["max"])
        inside = [
            f"ins.{g}.{i}"
            for g, group in enumerate(groups)
            if group["area"] in cream["areas"]
            for i in range(group["needles"])
        ]
        if inside:
            wiped = end_of["wip." + cream["id"]]
            first = model.new_int_var(0, horizon, "first." + cream["id"])
            model.add_min_equality(first, [start_of[name] for name in inside])
            model.add(first - wiped >= cream["first_needle_lag"]["min"])
            model.add(first - wiped <= cream["first_needle_lag"]["max"])
            if cream["last_needle_lag_max"] is not None:
                for name in inside:
                    model.add(end_of[name] - wiped <= cream["last_needle_lag_max"])
    model.add_no_overlap(intervals)
    model.add(start_of["open"] == 0)
    for name in start_of:
        if name != "open":
            model.add(start_of[name] >= end_of["open"])
        if name != "close":
            model.add(end_of[name] <= start_of["close"])
    placing = []
    for g, group in enumerate(groups):
        names = [f"ins.{g}.{i}" for i in range(group["needles"])]
        if group["setup"] > 0:
            for name in names:
                model.add(start_of[name] >= end_of[f"set.{g}"])
            names.append(f"set.{g}")
        for name in names:
            for earlier in placing:
                model.add(start_of[name] >= end_of[earlier])
        placing += names
        # Equal needles: their names in order of placing. Which is taken out when stays free.
        for i in range(1, group["needles"]):
            model.add(start_of[f"ins.{g}.{i}"] >= end_of[f"ins.{g}.{i - 1}"])
    if instance["policy"]["removal_start"] == "after_last_insertion":
        for name in start_of:
            if name.startswith("rem"):
                for earlier in placing:
                    model.add(start_of[name] >= end_of[earlier])
    model.minimize(end_of["close"])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 2
    solver.parameters.random_seed = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.status_name(solver.solve(model))
    return status, int(solver.objective_value) if status in ("OPTIMAL", "FEASIBLE") else None


def invent(chance, number):
    """A small instance: one to four groups, none to two creams, windows from wide to too tight."""
    tight = chance.random() < 0.5
    groups, areas = [], ["arms", "brow", "cheek", "jaw"]
    for g in range(chance.randint(1, 4)):
        least = chance.choice([60, 120, 200, 300])
        groups.append(
            {
                "id": f"g{g}",
                "area": areas[g],
                "needles": chance.randint(2, 9 if g else 14),
                "setup": chance.choice([0, 0, 10, 20]),
                "insert": chance.randint(5, 30),
                "remove": chance.randint(4, 20),
                "retention": {"min": least, "max": least + chance.randint(0, 60 if tight else 240)},
            }
        )
    topical = []
    for t in range(chance.choice([0, 0, 0, 1, 1, 2])):
        dwell = chance.choice([100, 200, 300])
        after = chance.choice([0, 0, 20])
        topical.append(
            {
                "id": f"c{t}",
                "areas": chance.sample(areas[: len(groups)], chance.randint(1, min(2, len(groups)))),
                "apply": chance.randint(10, 40),
                "dwell": {"min": dwell, "max": dwell + chance.randint(20, 200)},
                "wipe": chance.randint(10, 30),
                "first_needle_lag": {"min": after, "max": after + chance.randint(0, 60)},
                "last_needle_lag_max": chance.choice([None, 150, 300]),
            }
        )
    return {
        "format": "pinfold-sched-1",
        "kind": "session",
        "id": f"G{number:02}",
        "title": "invented at random",
        "time_unit": "second",
        "data": "invented",
        "open": {"duration": chance.choice([0, 30])},
        "close": {"duration": chance.choice([0, 45])},
        "groups": groups,
        "topical": topical,
        "policy": {
            "group_order": "strict",
            "removal_start": chance.choice(["any", "any", "after_last_insertion"]),
        },
        "objective": ["chair_time"],
    }


def main():
    wanted = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 20
    chance = random.Random(seed)
    kept = {"OPTIMAL": 0, "INFEASIBLE": 0}
    number = 0
    while sum(kept.values()) < wanted:
        number += 1
        instance = invent(chance, number)
        status, value = solve(instance, 60)
        print(number, status, value, file=sys.stderr)
        # At most a quarter of the lines are about what cannot be done.
        if status not in kept or status == "INFEASIBLE" and kept[status] * 4 >= wanted:
            continue
        kept[status] += 1
        print(json.dumps({"instance": instance, "status": status, "value": value}))


if __name__ == "__main__":
    main()
