"""Reads what a build wrote for the bench by other libraries' means: the 3MF package by lib3mf, trimesh and lxml, boards
by ezdxf, svgelements and lxml, the bill by csv, the shop sheet by lxml as strict XML.

usage: check_sheet.py FOLDER...   each folder as `make` writes it
"""

import csv
import io
import json
import re
import sys
import zipfile
from pathlib import Path

import ezdxf
import lib3mf
import numpy as np
import trimesh
from lxml import etree
from svgelements import SVG, Path as SvgPath

CORE = "{http://schemas.microsoft.com/3dmanufacturing/core/2015/02}"
wrong = []
checks = 0


def check(good, what):
    global checks
    checks += 1
    if not good:
        wrong.append(what)


def near(a, b, slack, what):
    check(abs(a - b) <= slack, f"{what}: {a} is not {b} within {slack}")


def meshes_of(folder, bill):
    """Name and STL of each solid that the package must hold."""
    if bill is None:
        return {"pattern": folder / "pattern.stl"}
    files = {p.name: p for p in (folder / "pieces").glob("*.stl")}
    pattern = [row for row in bill["pieces"] if row["kind"] != "gating"]  # gating is no part of the pattern
    return {row["name"]: files.get(f"{file_name(row['name'])}.stl") for row in pattern}


def file_name(name):
    """As the program's own files are named; names of one file name alike are not among the cases."""
    return re.sub(r"[^\w.-]", "-", name).strip(".-")


def package(folder, bill):
    path = folder / "pattern.3mf"
    want = meshes_of(folder, bill)
    with zipfile.ZipFile(path) as z:
        check(z.testzip() is None, "3mf: a checksum is wrong")
        check(all(i.date_time == (1980, 1, 1, 0, 0, 0) for i in z.infolist()), "3mf: dates")
        model = etree.fromstring(z.read("3D/3dmodel.model"))
    check(model.get("unit") == "millimeter", "3mf: unit")
    named = [o.get("name") for o in model.iter(f"{CORE}object") if o.find(f"{CORE}mesh") is not None]
    check(named == list(want), f"3mf: objects {named} are not {list(want)}")
    check(len(model.findall(f".//{CORE}item")) == 1, "3mf: one item is built")

    wrapper = lib3mf.get_wrapper()
    read = wrapper.CreateModel()
    reader = read.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    check(reader.GetWarningCount() == 0, "lib3mf warns")
    check(read.GetUnit() == lib3mf.ModelUnit.MilliMeter, "lib3mf: unit")
    objects = read.GetMeshObjects()
    seen = 0
    while objects.MoveNext():
        mesh = objects.GetCurrentMeshObject()
        seen += 1
        check(mesh.IsManifoldAndOriented(), f"lib3mf: {mesh.GetName()} is not sound")
        file = want.get(mesh.GetName())
        check(file is not None, f"no STL of {mesh.GetName()}")
        if file is None:
            continue
        stl = trimesh.load(file)
        points = np.array([list(v.Coordinates) for v in mesh.GetVertices()])
        faces = np.array([list(t.Indices) for t in mesh.GetTriangleIndices()])
        ours = trimesh.Trimesh(points, faces, process=False)
        near(ours.volume, stl.volume, 1e-6 * stl.volume, f"volume of {mesh.GetName()}")
        check(np.abs(ours.bounds - stl.bounds).max() < 1e-6, f"bounds of {mesh.GetName()}")
    check(seen == len(want), f"lib3mf: {seen} meshes for {len(want)}")

    # Placed, all lie within the pattern: pegs and wax are the only foam that is not theirs.
    scene = trimesh.load(path)
    pattern = trimesh.load(folder / "pattern.stl")
    aids = bill is not None and any(r["kind"] in ("prop", "grip") for r in bill["pieces"])
    if not aids:
        check((scene.bounds[0] >= pattern.bounds[0] - 2e-3).all(), "placed pieces stand out below")
        check((scene.bounds[1] <= pattern.bounds[1] + 2e-3).all(), "placed pieces stand out above")
        near(np.prod(np.ptp(scene.bounds, axis=0)), np.prod(np.ptp(pattern.bounds, axis=0)),
             1e-3 * np.prod(np.ptp(pattern.bounds, axis=0)), "the box of all pieces")


def area(points):
    x, y = np.array(points).T[:2]
    return abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2


def boards(folder, bill):
    for row in bill.get("boards", []):
        base = folder / "boards" / f"board-{row['number']}"
        svg = etree.parse(base.with_suffix(".svg")).getroot()
        near(float(svg.get("width").removesuffix("mm")), row["size_mm"][0], 1e-6, "svg: width")
        ns = "{http://www.w3.org/2000/svg}"
        by_svg = {"outline": [], "holes": [], "seats": [], "seats-below": []}
        for group in svg.iter(f"{ns}g"):
            if group.get("id") in by_svg:
                for path in group.iter(f"{ns}path"):
                    for sub in SvgPath(path.get("d")).as_subpaths():
                        loop = SvgPath(sub)
                        points = [(s.end.x, s.end.y) for s in loop if s.end is not None]
                        by_svg[group.get("id")].append((area(points), loop.length()))
        check(len(list(SVG.parse(base.with_suffix(".svg")).elements())) > 0, "svgelements reads nothing")
        drawing = ezdxf.readfile(base.with_suffix(".dxf"))
        check(drawing.dxfversion == "AC1009", "dxf: not release 12")
        check(not drawing.audit().has_errors, "dxf: errors")
        by_dxf = {layer: [] for layer in by_svg}
        for line in drawing.modelspace().query("LWPOLYLINE POLYLINE"):
            layer = line.dxf.layer.lower()
            if layer in by_dxf:
                raw = line.get_points("xy") if line.dxftype() == "LWPOLYLINE" else [v.dxf.location for v in line.vertices]
                points = [(p[0], p[1]) for p in raw]
                ring = np.array(points + points[:1])
                by_dxf[layer].append((area(points), np.linalg.norm(np.diff(ring, axis=0), axis=1).sum()))
        for layer in by_svg:
            a, b = np.array(by_svg[layer]), np.array(by_dxf[layer])
            check(a.shape == b.shape, f"{layer}: {a.shape} loops in svg, {b.shape} in dxf")
            if a.shape == b.shape and len(a):
                check(np.abs(a.sum(0) - b.sum(0)).max() < 1e-5 * b.sum(0).max(), f"{layer}: svg {a.sum(0)} dxf {b.sum(0)}")
        solid = sum(a for a, _ in by_dxf["outline"]) - sum(a for a, _ in by_dxf["holes"])
        near(solid, row["pieces_mm2"], 1e-3 * row["pieces_mm2"], "area of pieces on the board")


def table(folder, bill):
    text = (folder / "bill.csv").read_bytes().decode("utf-8-sig")
    rows = list(csv.reader(io.StringIO(text, newline="")))
    check(len({len(r) for r in rows}) == 1, "bill: rows of one length")
    names = [r[1] for r in rows[1 : 1 + len(bill["pieces"])]]
    check(names == [p["name"] for p in bill["pieces"]], f"bill: {names}")


def sheet(folder, report, bill):
    raw = (folder / "sheet.html").read_bytes()
    check(len(raw) < 1_500_000, "the sheet is large")
    root = etree.fromstring(raw)
    said = " ".join(" ".join(root.itertext()).split())
    flat = lambda s: " ".join(s.split())
    check(flat(report["part"]) in said, "sheet: part")
    for f in report["findings"]:
        check(flat(f["text"]) in said, f"sheet: {f['text']}")
        for place in f["features"]:
            check(place["at"] in said, f"sheet: {place['at']}")
    for p in (bill or {}).get("pieces", []):
        check(flat(p["name"]) in said, f"sheet: {p['name']}")
    for s in (bill or {}).get("steps", []):
        check(flat(s["text"]) in said, f"sheet: {s['text']}")
    for b in (bill or {}).get("boards", []):
        check(f"Board {b['number']}" in said, f"sheet: board {b['number']}")
    check("Local codes and licensed practice come first" in said, "sheet: local codes")
    check("steam" in said or "Water under metal explodes" in said, "sheet: cautions")
    check(not list(root.iter("script", "link", "iframe", "object", "embed", "form", "a")), "sheet: what acts or fetches")
    for e in root.iter():
        for key, value in e.attrib.items():
            check(not key.lower().startswith("on"), f"sheet: {key}")
            if key in ("src", "href"):
                check(value.startswith("data:image/png;base64,"), f"sheet: fetches {value[:40]}")
    style = "".join(root.xpath("//style/text()"))
    check("url(" not in style and "@import" not in style, "sheet: its style fetches")


def main():
    for folder in map(Path, sys.argv[1:]):
        before = len(wrong)
        report = json.loads((folder / "report.json").read_text("utf-8"))
        bill_file = folder / "bill.json"
        bill = json.loads(bill_file.read_text("utf-8")) if bill_file.exists() else None
        package(folder, bill)
        if bill is not None:
            boards(folder, bill)
            table(folder, bill)
        sheet(folder, report, bill)
        for text in wrong[before:]:
            print(f"{folder.name}: {text}", file=sys.stderr)
    print(f"{checks} checks of {len(sys.argv) - 1} builds, {len(wrong)} wrong")
    sys.exit(bool(wrong))


main()
