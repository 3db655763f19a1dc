"""Checks the meshes of builds by general-purpose mesh libraries: trimesh and manifold3d.

    python check_meshes.py FOLDER

Each folder in FOLDER holds one build: the STL files and report.json as they are delivered, witness.json with
what the report doesn't tell, and the feature bodies of two stages (finished.bodies, casting.bodies).
Prints what failed, then "N passed, N failed"; the exit status is 1 if anything failed.
"""

import json
import struct
import sys
from pathlib import Path

import manifold3d
import numpy as np
import trimesh

STAGES = ("finished", "casting", "pattern")


class Tally:
    def __init__(self):
        self.passed = 0
        self.failed = []

    def check(self, good, what):
        if good:
            self.passed += 1
        else:
            self.failed.append(what)

    def near(self, got, want, slack, what):
        off = float(np.max(np.abs(np.asarray(got, float) - np.asarray(want, float))))
        self.check(off <= slack, f"{what}: {got} is not {want} within {slack:g}, off by {off:g}")


def read_stl(path):
    """Triangles and normals of a binary STL file, by its definition."""
    data = path.read_bytes()
    (count,) = struct.unpack_from("<I", data, 80)
    if len(data) != 84 + 50 * count:
        raise ValueError(f"{path}: {len(data)} bytes for {count} triangles")
    record = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    rows = np.frombuffer(data, record, count, 84)
    return rows["corners"].astype(float), rows["normal"].astype(float)


def check_file(tally, folder, stage, figures, centre):
    """One STL file against the report."""
    name = f"{folder.name}/{stage}"
    corners, normals = read_stl(folder / f"{stage}.stl")
    mesh = trimesh.load(folder / f"{stage}.stl", process=True)
    tally.check(mesh.is_watertight, f"{name}: not watertight")
    tally.check(mesh.is_winding_consistent, f"{name}: winding not consistent")
    tally.check(mesh.volume > 0, f"{name}: inside out")
    tally.check(len(corners) == figures["triangles"], f"{name}: {len(corners)} triangles, {figures['triangles']} reported")
    tally.check(len(mesh.faces) == len(corners), f"{name}: triangles fall together when welded")
    volume, area = figures["volume_mm3"], figures["area_mm2"]
    size = float(np.max(np.ptp(mesh.vertices, axis=0)))
    # Coordinates are rounded to f32: a part in 2^24 of the size, over the surface.
    rounding = size * 2.0**-23
    tally.near(mesh.volume, volume, area * rounding + 1e-6 * volume, f"{name}: volume")
    tally.near(mesh.area, area, 1e-5 * area, f"{name}: area")
    tally.near(mesh.bounds, [figures["low_mm"], figures["high_mm"]], 2 * rounding, f"{name}: bounds")
    tally.near(mesh.center_mass, centre, 1e-5 * size, f"{name}: centre of mass")
    # Normals as written against the corners' own; tiny triangles have none worth the name.
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(cross, axis=1)
    worth = length > 1e-2
    agree = np.einsum("ij,ij->i", normals[worth], cross[worth] / length[worth, None])
    tally.check(agree.min() > 0.999, f"{name}: a written normal is {agree.min():.4f} along its triangle's")
    shells = mesh.split(only_watertight=False)
    bodies = sum(1 for s in shells if s.volume > 0)
    handles = sum((2 - s.euler_number) // 2 for s in shells)
    tally.check(bodies == figures["bodies"], f"{name}: {bodies} bodies, {figures['bodies']} reported")
    tally.check(handles == figures["handles"], f"{name}: genus {handles}, {figures['handles']} reported")
    solid = as_manifold(mesh.vertices, mesh.faces)
    tally.check(solid.status() == manifold3d.Error.NoError, f"{name}: manifold3d says {solid.status()}")
    tally.near(solid.volume(), volume, area * rounding + 1e-6 * volume, f"{name}: volume by manifold3d")
    return solid


def as_manifold(points, triangles):
    # Copies: it takes neither read-only arrays nor subclasses.
    points = np.array(points, dtype=np.float64, order="C", copy=True, subok=False)
    triangles = np.array(triangles, dtype=np.uint64, order="C", copy=True, subok=False)
    return manifold3d.Manifold(manifold3d.Mesh64(points, triangles))


def read_bodies(path):
    data = path.read_bytes()
    at, bodies = 0, []
    while at < len(data):
        points, triangles = struct.unpack_from("<II", data, at)
        at += 8
        xyz = np.frombuffer(data, "<f8", 3 * points, at).reshape(-1, 3)
        at += 24 * points
        corners = np.frombuffer(data, "<u4", 3 * triangles, at).reshape(-1, 3)
        at += 12 * triangles
        bodies.append(as_manifold(xyz, corners))
    return bodies


def check_booleans(tally, folder, stage, figures, centre, steps):
    """The same feature bodies, combined one by one by manifold3d."""
    name = f"{folder.name}/{stage}"
    bodies = read_bodies(folder / f"{stage}.bodies")
    for n, body in enumerate(bodies):
        sound = body.status() == manifold3d.Error.NoError and body.volume() > 0
        tally.check(sound, f"{name}: body {n}: {body.status()}, volume {body.volume():g}")
    solid = manifold3d.Manifold()
    for step in steps:
        body = bodies[step["body"]]
        for cut in step["less"]:
            body = body - bodies[cut]
        solid = solid + body if step["adds"] else solid - body
    volume, area = figures["volume_mm3"], figures["area_mm2"]
    size = max(h - l for h, l in zip(figures["high_mm"], figures["low_mm"]))
    slack = area * size * 2.0**-22 + 1e-6 * volume
    tally.near(solid.volume(), volume, slack, f"{name}: volume of its bodies combined by manifold3d")
    mesh = solid.to_mesh64()
    combined = trimesh.Trimesh(mesh.vert_properties[:, :3], mesh.tri_verts, process=False)
    tally.near(combined.center_mass, centre, 1e-4 * size, f"{name}: centre of mass of its bodies combined")
    # Crumbs without volume aren't bodies.
    parts = [p for p in solid.decompose() if abs(p.volume()) > 1e-3]
    solids = sum(1 for p in parts if p.volume() > 0)
    handles = sum(p.genus() for p in parts)
    tally.check(solids == figures["bodies"], f"{name}: {solids} bodies when combined, {figures['bodies']} reported")
    tally.check(handles == figures["handles"], f"{name}: genus {handles} when combined, {figures['handles']} reported")


def check_build(tally, folder):
    report = json.loads((folder / "report.json").read_text())
    told = json.loads((folder / "witness.json").read_text())
    solids = {}
    for stage in STAGES:
        solids[stage] = check_file(tally, folder, stage, report["stages"][stage], told[f"{stage}_centre_mm"])
    for stage in ("finished", "casting"):
        figures = report["stages"][stage]
        check_booleans(tally, folder, stage, figures, told[f"{stage}_centre_mm"], told[f"{stage}_steps"])
    # The pattern is the casting grown by the shrink.
    casting, pattern = (report["stages"][s] for s in ("casting", "pattern"))
    grow = np.prod([1 + s / 100 for s in report["metal"]["shrink_percent"]])
    tally.near(solids["pattern"].volume() / solids["casting"].volume(), grow, 2e-6, f"{folder.name}: shrink")
    # The finished part lies inside the casting. A bore may have other facets in the two stages: what sticks out
    # is then a sliver no thicker than one facet stands off. (Volume over half the surface is its mean thickness.)
    for part in (solids["finished"] - solids["casting"]).decompose():
        thick = 2 * part.volume() / max(part.surface_area(), 1e-9)
        text = f"{part.volume():g} mm3 of the finished part lie outside of the casting, {thick:g} mm thick"
        tally.check(thick <= told["facet_mm"], f"{folder.name}: {text}")


def main():
    tally = Tally()
    folders = sorted(p for p in Path(sys.argv[1]).iterdir() if (p / "witness.json").is_file())
    tally.check(bool(folders), f"{sys.argv[1]} holds no build")
    for folder in folders:
        try:
            check_build(tally, folder)
        except Exception as error:  # a file that can't be read is a failure of its own
            tally.failed.append(f"{folder.name}: {type(error).__name__}: {error}")
    for failure in tally.failed:
        print(f"FAILED {failure}")
    print(f"{tally.passed} passed, {len(tally.failed)} failed")
    return 1 if tally.failed else 0


if __name__ == "__main__":
    sys.exit(main())
