"""How much faster a mesh's walls are proved than trimesh measures its thickness by the largest inside ball.

    python walls.py PROGRAM MESH.stl

Both on the same mesh, one after the other: `PROGRAM prove MESH.stl`, from the process's start to its end (reading the
file, walls everywhere, the cutter's reach), and trimesh's `thickness` at 20,000 places, its reading not counted.
"""

import subprocess
import sys
import time

import numpy as np
import trimesh
from trimesh.proximity import thickness

PLACES = 20_000
RUNS = 3
LIMIT_MM = "5"


def proved(program, mesh):
    start = time.monotonic()
    done = subprocess.run([program, "prove", mesh, "--min-wall", LIMIT_MM], capture_output=True, text=True)
    took = time.monotonic() - start
    # 1: something was found that stops it.
    assert done.returncode in (0, 1), done.stderr
    return took


def main():
    program, path = sys.argv[1:]
    ours = min(proved(program, path) for _ in range(RUNS))
    mesh = trimesh.load(path, process=True)
    np.random.seed(1)
    places, faces = trimesh.sample.sample_surface(mesh, PLACES)
    start = time.monotonic()
    found = thickness(mesh, places, exterior=False, normals=mesh.face_normals[faces], method="max_sphere")
    theirs = time.monotonic() - start
    print(f"{len(mesh.faces)} triangles: prove {ours:.2f} s; trimesh at {len(found)} places {theirs:.1f} s: {theirs / ours:.0f} times")


if __name__ == "__main__":
    main()
