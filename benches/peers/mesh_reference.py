"""Compares volume, area, box and immersed volume with trimesh, on random closed meshes and on files of open licence.

    python benches/peers/mesh_reference.py PROBE OUT.json [FILE ...]

PROBE is the command under test (`examples/probe.rs`): `PROBE check FILE` and `PROBE depths FILE UP` print JSON. Needs trimesh, numpy,
scipy, shapely, rtree, manifold3d, mapbox_earcut, networkx and lxml (all from PyPI). FILE ... are further meshes (STL, OBJ, 3MF; PLY is
converted to STL first). Allowed: 1e-9 relative for volume, area and box, 1e-6 of the whole for immersed volume. Exits with 1
when anything is further apart.
"""

import io
import json
import pathlib
import subprocess
import sys
import tempfile

import numpy as np
import trimesh

ALLOWED = 1e-9
ALLOWED_IMMERSED = 1e-6
UPS = {"+x": (0, 1), "-x": (0, -1), "+y": (1, 1), "-y": (1, -1), "+z": (2, 1), "-z": (2, -1)}


def probe(command, *args):
    return json.loads(subprocess.run([command, *map(str, args)], check=True, capture_output=True, text=True).stdout)


def random_meshes(rng):
    """Closed meshes: bent balls, rings, balls with bites taken out, a hollow ball, two bodies."""
    for i in range(6):
        ball = trimesh.creation.icosphere(subdivisions=3, radius=rng.uniform(1, 30))
        ball.vertices *= rng.uniform(0.4, 1.6, 3)
        ball.vertices += 0.1 * np.sin(ball.vertices[:, [1, 2, 0]] * rng.uniform(0.1, 0.5)) * ball.scale / 10
        ball.vertices += rng.uniform(-500, 500, 3)
        yield f"bent ball {i}", ball
    for i in range(3):
        ring = trimesh.creation.torus(rng.uniform(5, 20), rng.uniform(1, 4), major_sections=64, minor_sections=24)
        ring.apply_transform(trimesh.transformations.random_rotation_matrix(rng.random(3)))
        yield f"turned ring {i}", ring
    for i in range(3):
        body = trimesh.creation.box(rng.uniform(10, 20, 3))
        for _ in range(4):
            bite = trimesh.creation.icosphere(subdivisions=2, radius=rng.uniform(2, 5))
            bite.apply_translation(rng.uniform(-8, 8, 3))
            body = body.difference(bite)
        yield f"bitten box {i}", body
    outer, inner = trimesh.creation.icosphere(4, 20), trimesh.creation.icosphere(3, 12)
    inner.invert()
    yield "hollow ball", trimesh.util.concatenate([outer, inner])
    apart = trimesh.creation.cylinder(3, 9).apply_translation([40, 0, 0])
    yield "two bodies", trimesh.util.concatenate([outer, apart])


def whole(mesh, found):
    """Relative differences of volume, area and box."""
    size = np.array(found["max"]) - np.array(found["min"])
    extents = np.asarray(mesh.bounds[1] - mesh.bounds[0])
    return {
        "volume": abs(found["volume"] - mesh.volume) / abs(mesh.volume),
        "area": abs(found["area"] - mesh.area) / mesh.area,
        "box": float(np.max(np.abs(size - extents)) / np.max(extents)),
    }


def immersed(mesh, command, path, up):
    """Largest difference of the volume below ten levels, as a share of the whole, and what was compared."""
    axis, sign = UPS[up]
    normal = np.zeros(3)
    normal[axis] = sign
    lowest = (mesh.vertices @ normal).min()
    rows, worst = [], 0.0
    for step in probe(command, "depths", path, up)["steps"]:
        level = normal * (lowest + step["depth"])
        below = trimesh.intersections.slice_mesh_plane(mesh, plane_normal=-normal, plane_origin=level, cap=True)
        worst = max(worst, abs(below.volume - step["volume"]) / abs(mesh.volume))
        # The depth found back from the volume need not be the same where nothing is between two bodies, but its volume must.
        worst = max(worst, abs(step["again"] - step["volume"]) / abs(mesh.volume))
        rows.append({"depth": step["depth"], "reference": float(below.volume), "found": step["volume"]})
    return worst, rows


def load(path):
    """All bodies of a file as one mesh, in place, with equal corners merged."""
    data, kind = path.read_bytes(), path.suffix[1:].lower()
    if kind == "stl" and 0 < len(data) - 84 - 50 * int.from_bytes(data[80:84], "little") <= 4:
        # A byte too many, at which trimesh takes the file for text (numpy-stl's binary HalfDonut.stl).
        data = data[: 84 + 50 * int.from_bytes(data[80:84], "little")]
    mesh = trimesh.load(io.BytesIO(data), file_type=kind, force="mesh", process=False)
    mesh.merge_vertices(digits_vertex=14, merge_tex=True, merge_norm=True)
    return mesh


def compare(command, name, path, ups):
    mesh, found = load(path), probe(command, "check", path)
    row = {"name": name, "triangles": len(mesh.faces), "closed": bool(mesh.is_watertight and mesh.is_winding_consistent)}
    row |= {"volume": float(mesh.volume), "area": float(mesh.area), "box": (mesh.bounds[1] - mesh.bounds[0]).tolist()}
    row["trusted"] = found["trusted"] == "yes"
    row["euler"] = [int(mesh.euler_number), sum(found["euler"])]
    row["apart"] = whole(mesh, found)
    row["may_overlap"] = found["may_overlap"]
    if not row["trusted"]:
        # The volume of such a mesh depends on how it is summed; both must refuse it.
        del row["apart"]["volume"]
    # Of shells that share space, the cut's outlines cross, and a cap is anybody's guess.
    if row["trusted"] and not row["may_overlap"]:
        row["immersed"] = {}
        for up in ups:
            row["immersed"][up], rows = immersed(mesh, command, path, up)
            if up == "+z":
                row["levels"] = rows
    wholes = all(value <= ALLOWED for value in row["apart"].values())
    row["agrees"] = (
        wholes
        and row["closed"] == row["trusted"]
        and row["euler"][0] == row["euler"][1]
        and all(value <= ALLOWED_IMMERSED for value in row.get("immersed", {}).values())
    )
    return row


def main():
    command, out, *files = sys.argv[1:]
    rng, rows = np.random.default_rng(20260302), []
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for name, mesh in random_meshes(rng):
            for kind in ("stl", "stl_ascii", "obj", "3mf"):
                path = folder / f"mesh.{kind.split('_')[0]}"
                mesh.export(path, file_type=kind)
                rows.append(compare(command, f"{name}, {kind}", path, UPS if kind == "stl" else ["+z"]))
        for file in map(pathlib.Path, files):
            path = file
            if file.suffix == ".ply":
                path = folder / (file.stem + ".stl")
                trimesh.load(file, force="mesh", process=False).export(path)
            rows.append(compare(command, file.name, path, ["+z", "-x"]))
    tools = {"trimesh": trimesh.__version__, "numpy": np.__version__, "python": sys.version.split()[0]}
    pathlib.Path(out).write_text(json.dumps({"tools": tools, "allowed": ALLOWED, "allowed_immersed": ALLOWED_IMMERSED, "meshes": rows}, indent=1))
    for row in rows:
        worst = max(row["apart"].values())
        level = max(row.get("immersed", {"": 0}).values())
        print(f"{'ok' if row['agrees'] else 'NO':3} {row['name']:34} {row['triangles']:7} whole {worst:.1e} immersed {level:.1e} trusted {row['trusted']}{' may overlap' * row['may_overlap']}")
    sys.exit(not all(row["agrees"] for row in rows))


if __name__ == "__main__":
    main()
