"""What a general mesh library needs for its part of the job, on the same files and machine as `cargo xtask bench`.

    python bench_peer.py make SMALL.stl COUNT OUT.stl   writes the scan with COUNT triangles
    python bench_peer.py time SCAN.stl                  prints one JSON object with the times
    python bench_peer.py load SCAN.stl                  the same for loading alone

Each step is timed alone and repeated; the file is in the system's cache by then, for Solewright too.
"""

import io
import json
import statistics
import sys
import time

import numpy
import trimesh

RUNS = 5


def make(small, count, out):
    """The same surface as a finer scanner would write it: every triangle split into four while that is not too many,
    then the longest sides split in two, with both their triangles, until there are `count` (one more if that is odd).
    """
    mesh = trimesh.load(small)
    while 4 * len(mesh.faces) <= count:
        mesh = mesh.subdivide()
    while len(mesh.faces) < count:
        mesh = halved(mesh, (count - len(mesh.faces) + 1) // 2)
    mesh.export(out, file_type="stl")
    print(f"{out}: {len(mesh.faces)} triangles")


def halved(mesh, most):
    """Splits at most `most` sides between two triangles, the longest first, and no triangle twice."""
    sides, faces = mesh.face_adjacency_edges, mesh.face_adjacency
    lengths = numpy.linalg.norm(mesh.vertices[sides[:, 0]] - mesh.vertices[sides[:, 1]], axis=1)
    is_free = [True] * len(mesh.faces)
    split = []
    pairs = faces.tolist()
    for side in numpy.argsort(-lengths, kind="stable").tolist():
        one, other = pairs[side]
        if len(split) < most and is_free[one] and is_free[other]:
            is_free[one] = is_free[other] = False
            split.append(side)
    ends = sides[split]
    middles = len(mesh.vertices) + numpy.arange(len(split))
    # Triangles stay beside those they came from, as a scanner writes neighbours.
    halves = numpy.stack([mesh.faces, numpy.full_like(mesh.faces, -1)], axis=1)
    for column in range(2):
        face = faces[split, column]
        for half in range(2):
            corners = mesh.faces[face].copy()
            corners[corners == ends[:, [half]]] = -2
            halves[face, half] = numpy.where(corners == -2, middles[:, None], corners)
    halves = halves.reshape(-1, 3)
    vertices = numpy.vstack([mesh.vertices, mesh.vertices[ends].mean(axis=1)])
    return trimesh.Trimesh(vertices, halves[halves[:, 0] >= 0], process=False)


def timed(step_id, label, work):
    times_ms = []
    for _ in range(RUNS):
        start = time.perf_counter()
        work()
        times_ms.append((time.perf_counter() - start) * 1000.0)
    return {
        "id": step_id,
        "label": label,
        "ms_median": statistics.median(times_ms),
        "ms_worst": max(times_ms),
        "runs": RUNS,
    }


def main():
    if sys.argv[1] == "make":
        make(sys.argv[2], int(sys.argv[3]), sys.argv[4])
        return
    path = sys.argv[2]
    load = "load the scan and merge equal vertices, nothing else"
    steps = [timed("read_measure", load, lambda: trimesh.load(path))]
    if sys.argv[1] == "time":
        mesh = trimesh.load(path)
        across, middle = [1.0, 0.0, 0.0], mesh.bounds.mean(axis=0)
        steps += [
            timed("section", "one cut through the scan", lambda: mesh.section(plane_origin=middle, plane_normal=across)),
            timed("write", "the scan as STL again", lambda: mesh.export(io.BytesIO(), file_type="stl")),
        ]
    print(json.dumps({"steps": steps, "library": f"trimesh {trimesh.__version__}"}))


if __name__ == "__main__":
    main()
