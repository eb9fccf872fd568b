"""Random designs on random feet, each solid judged by an independent geometry kernel and by arithmetic on its faces.

The example `designs` of the crate `engine` draws every number of the insole and of its elements from the whole range and
writes what it made. Most of these insoles could not be worn; sound they shall be all the same, and what is too thin
be said.
"""

import io
import json
import multiprocessing
import os
import struct
import subprocess
from pathlib import Path

import manifold3d
import numpy as np
import pytest
import shapely

ROOT = Path(__file__).resolve().parents[2]
COUNT = int(os.environ.get("DESIGNS", "2000"))

# No triangle is smaller, mm².
LEAST_AREA_MM2 = 0.01
# A finishing bevel or a rounded edge makes the wall lower than what was designed; it reaches no further in, mm.
EDGE_MM = 14.0


def designs(count, first):
    """What was told of each design, and its faces as an array (n, 3, 3)."""
    binary = os.environ.get("DESIGNS_BIN", str(ROOT / "target" / "release" / "examples" / "designs"))
    with subprocess.Popen([binary, str(count), str(first)], stdout=subprocess.PIPE) as made:
        read = io.BufferedReader(made.stdout, 1 << 20).read
        for _ in range(count):
            parts = []
            for _ in range(2):
                (size,) = struct.unpack("<I", read(4))
                parts.append(read(size))
            told, stl = json.loads(parts[0]), parts[1]
            faces = None
            if stl:
                (number,) = struct.unpack_from("<I", stl, 80)
                row = np.dtype([("n", "<f4", 3), ("v", "<f4", (3, 3)), ("a", "<u2")])
                faces = np.frombuffer(stl, row, number, 84)["v"].astype(np.float64)
            yield told, faces
    assert made.returncode == 0


def alike(numbers):
    """For rows of float32, the first of each kind and which kind each row is; rows are told apart by a hash of their bits."""
    bits = np.ascontiguousarray(numbers, np.float32).view(np.uint32).astype(np.uint64)
    odd = np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], np.uint64)[: numbers.shape[1]]
    key = (bits * odd).sum(axis=1, dtype=np.uint64)
    _, first, kind = np.unique(key, return_index=True, return_inverse=True)
    kind = kind.ravel()
    assert (numbers[first][kind] == numbers).all(), "two rows share a hash"
    return first, kind


def welded(faces):
    """Vertices and triangles. Vertices that an STL repeats are the same numbers bit for bit."""
    corners = faces.reshape(-1, 3)
    first, kind = alike(corners)
    return corners[first], kind.reshape(-1, 3)


def fault_of(told, faces):
    """What is wrong with one design, or nothing."""
    vertices, triangles = welded(faces)
    kernel = manifold3d.Manifold(manifold3d.Mesh(vertices.astype(np.float32), triangles.astype(np.uint32)))
    if kernel.status() != manifold3d.Error.NoError:
        return f"the kernel refuses it: {kernel.status()}"
    if kernel.genus() != 0 or kernel.volume() <= 0.0:
        return f"genus {kernel.genus()}, volume {kernel.volume()}"
    cross = np.cross(faces[:, 1] - faces[:, 0], faces[:, 2] - faces[:, 0])
    area = np.linalg.norm(cross, axis=1) / 2
    if area.min() < LEAST_AREA_MM2:
        return f"a sliver of {area.min():.4f} mm²"
    # Nothing crosses itself: seen from above the top covers the plan once and only once, so does the bottom from below,
    # what is left stands upright, and over every point of the plan the top is higher.
    up, down = cross[:, 2] > 1e-9, cross[:, 2] < -1e-9
    plan = abs(shapely.Polygon(np.asarray(told["outline"])).area)
    for sheet in (up, down):
        covered = np.abs(cross[sheet, 2]).sum() / 2
        if abs(covered - plan) > 0.002 * plan:
            return f"a face covers {covered:.1f} of {plan:.1f} mm²"
    upright = ~(up | down)
    if upright.any() and np.abs(cross[upright, 2]).max() > 1e-6:
        return "a wall leans"
    first, column = alike(vertices[:, :2])
    columns = vertices[first, :2]
    low, high = np.full(len(columns), np.inf), np.full(len(columns), -np.inf)
    np.minimum.at(low, column, vertices[:, 2])
    np.maximum.at(high, column, vertices[:, 2])
    thickness = high - low
    if thickness.min() < 0.39:
        return f"{thickness.min():.3f} mm thick"
    # The least thickness asked for holds away from the finished edge, or a finding says where not.
    asked = least_asked(told["surface"])
    thin = np.inf
    below = columns[thickness < asked - 0.02]
    if len(below) and not told["thin_found"]:
        rim = shapely.LinearRing(np.asarray(told["outline"]))
        inside = shapely.distance(rim, shapely.points(below)) > EDGE_MM
        thin = thickness[thickness < asked - 0.02][inside].min() if inside.any() else np.inf
    if thin < asked - 0.02 and not told["thin_found"]:
        return f"{thin:.2f} mm where {asked} mm are asked for, and nothing says so"
    return None


def least_asked(surface):
    """The smallest of the least thicknesses asked for: every place has to have that much."""
    general = surface.get("min_thickness_mm", 2.0)
    return min(surface.get(name, general) for name in ("min_heel_mm", "min_arch_mm", "min_forefoot_mm"))


def judged(count_first):
    """Faults, sound and refused designs of a run."""
    faults, sound, refused = [], 0, 0
    for told, faces in designs(*count_first):
        if faces is None:
            # Only landmarks out of order may stop it, with the reason.
            refused += 1
            if "landmarks" not in (told["problem"] or ""):
                faults.append(f"design {told['design']}: {told['problem']}")
            continue
        fault = fault_of(told, faces)
        sound += fault is None
        if fault:
            faults.append(f"design {told['design']}: {fault}")
    return faults, sound, refused


def test_every_random_design_is_a_sound_solid():
    half = COUNT // 2
    with multiprocessing.Pool(2) as pool:
        runs = pool.map(judged, [(half, 0), (COUNT - half, half)])
    faults = [fault for run in runs for fault in run[0]]
    sound, refused = (sum(run[k] for run in runs) for k in (1, 2))
    assert not faults, f"{len(faults)} of {COUNT}:\n" + "\n".join(faults[:12])
    assert sound >= 0.9 * COUNT, f"{refused} were refused"
