"""Holds wall thickness against trimesh: the plain largest ball, and rays through convex bodies.

    python check_walls.py FOLDER

FOLDER holds NAME.stl and NAME.json: places with their outward normals, what thickness was found there (ball_mm, null for
none) and how far it is straight through (through_mm). Prints what failed, then "N passed, N failed"; the exit status is 1
if anything failed.

Our ball looks only at faces that oppose the place, up to 62 degrees from parallel; the plain ball looks at all. So the
plain one is never larger, and where what stops it opposes the place, both are the same. On a facet of a round wall our
ball stands square to the round that the facets stand for, the plain one to the facet: there they may differ by as much as
that turns them.
"""

import json
import sys
from pathlib import Path

import numpy as np
import trimesh
from trimesh.proximity import max_tangent_sphere

SLACK_MM = 0.02
ROUND_SHARE = 0.05
OPPOSED = -np.cos(np.radians(60))


def check(path):
    told = json.loads(path.with_suffix(".json").read_text())
    mesh = trimesh.load(path, process=True)
    places, normals = np.array(told["places"]), np.array(told["normals"])
    ours = np.array([np.inf if t is None else t for t in told["ball_mm"]])
    failed, passed, same = [], 0, 0
    centres, radii = max_tangent_sphere(mesh, places, normals=normals)
    # From a little past the centre the nearest surface is what stops the ball.
    beyond = centres - normals * np.nan_to_num(radii[:, None]) * 0.02
    _, far, faces = mesh.nearest.on_surface(np.nan_to_num(beyond))
    opposed = np.einsum("ij,ij->i", mesh.face_normals[faces], normals) < OPPOSED
    # A face that opposes but lies farther than the ball reaches doesn't stop it: something beside it does.
    opposed &= np.abs(far - 0.98 * radii) < 2e-3 * radii
    _, _, own = mesh.nearest.on_surface(places)
    bends = np.zeros(len(mesh.faces), bool)
    smooth = (mesh.face_adjacency_angles > 1e-4) & (mesh.face_adjacency_angles < np.radians(30))
    bends[mesh.face_adjacency[smooth].ravel()] = True
    for i, plain in enumerate(2 * radii):
        where = f"{path.stem} at {np.round(places[i], 3)}: ball {ours[i]:.4f}, trimesh {plain:.4f}"
        slack = SLACK_MM + (ROUND_SHARE * plain if bends[own[i]] else 0)
        good = plain <= ours[i] + slack
        if opposed[i]:
            same += not bends[own[i]]
            good = abs(plain - ours[i]) <= slack
        passed += good
        if not good:
            failed.append(where)
    if told["convex"]:
        through = trimesh.proximity.longest_ray(mesh, places - normals * 1e-3, -normals) + 1e-3
        for place, got, want in zip(places, told["through_mm"], through):
            good = abs(got - want) <= 5e-3
            passed += good
            if not good:
                failed.append(f"{path.stem} at {np.round(place, 3)}: {got:.4f} through, trimesh's ray {want:.4f}")
    return passed, failed, same, len(places)


def main():
    passed, failed, same, places = 0, [], 0, 0
    for path in sorted(Path(sys.argv[1]).glob("*.stl")):
        result = check(path)
        passed, failed = passed + result[0], failed + result[1]
        same, places = same + result[2], places + result[3]
    # Otherwise little was compared.
    if same < 0.15 * places:
        failed.append(f"only {same} of {places} plain balls start on a flat face and are stopped by what opposes it")
    print("\n".join(failed))
    print(f"{passed} passed, {len(failed)} failed ({same} of {places} balls are to be equal)")
    sys.exit(bool(failed))


main()
