"""Combines feature bodies by manifold3d: prints the ms that one by one and by levels take.

    python combine.py finished.bodies steps.json

By levels: adds on even levels, cuts on odd ones, each body as low as the earlier bodies that its box meets allow; the
bodies of a level go in together. Reading the bodies in doesn't count.
"""

import json
import sys
import time
from pathlib import Path

import manifold3d
import numpy as np

sys.path.insert(0, str(Path(__file__).parent.parent / "witness"))

from check_meshes import read_bodies  # noqa: E402

NEAR_MM = 0.01
RUNS = 3


def solids(bodies, steps):
    """Each step's body, less what trims it."""
    out = []
    for step in steps:
        body = bodies[step["body"]]
        for cut in step["less"]:
            body = body - bodies[cut]
        out.append(body)
    return out


def one_by_one(bodies, steps):
    solid = manifold3d.Manifold()
    for body, step in zip(solids(bodies, steps), steps):
        solid = solid + body if step["adds"] else solid - body
    return solid.volume()


def levels_of(bodies, steps):
    boxes = [np.array(b.bounding_box()).reshape(2, 3) for b in bodies]
    levels = []
    for i, step in enumerate(steps):
        low, high = boxes[step["body"]]
        least = 0 if step["adds"] else 1
        for j in range(i):
            other_low, other_high = boxes[steps[j]["body"]]
            if np.all(low - NEAR_MM <= other_high) and np.all(other_low <= high + NEAR_MM):
                least = max(least, levels[j] + (steps[j]["adds"] != step["adds"]))
        levels.append(least)
    return levels


def by_levels(bodies, steps):
    levels = levels_of(bodies, steps)
    made = solids(bodies, steps)
    solid = manifold3d.Manifold()
    for level in range(max(levels) + 1):
        members = [b for b, l in zip(made, levels) if l == level]
        if members:
            joined = manifold3d.Manifold.batch_boolean(members, manifold3d.OpType.Add)
            solid = solid + joined if level % 2 == 0 else solid - joined
    return solid.volume()


def least(work, *given):
    best = float("inf")
    for _ in range(RUNS):
        clock = time.perf_counter()
        work(*given)
        best = min(best, time.perf_counter() - clock)
    return best * 1e3


def main():
    bodies = read_bodies(Path(sys.argv[1]))
    steps = json.load(open(sys.argv[2]))
    a, b = one_by_one(bodies, steps), by_levels(bodies, steps)
    if abs(a - b) > 1e-6 * abs(a):
        sys.exit(f"one by one gives {a}, by levels {b}")
    print(f"{least(one_by_one, bodies, steps):.1f} {least(by_levels, bodies, steps):.1f}")


main()
