"""What a general mesh library needs for its part of the job, on the same file and machine as `cargo xtask bench`.

    python bench_peer.py make SMALL.stl LARGE.stl   writes a scan of at least a million triangles
    python bench_peer.py time LARGE.stl             prints one JSON object with the times

Each step is timed alone and repeated; the file is in the system's cache by then, for Solewright too.
"""

import io
import json
import statistics
import sys
import time

import trimesh

# The budget speaks of a scan of a million triangles.
TRIANGLES = 1_000_000
RUNS = 5


def make(small, large):
    """Splits every triangle into four until there are enough: the same surface, as a finer scanner would write it."""
    mesh = trimesh.load(small, process=False)
    while len(mesh.faces) < TRIANGLES:
        mesh = mesh.subdivide()
    mesh.export(large, file_type="stl")
    print(f"{large}: {len(mesh.faces)} triangles")


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
        make(sys.argv[2], sys.argv[3])
        return
    path = sys.argv[2]
    mesh = trimesh.load(path)
    across, middle = [1.0, 0.0, 0.0], mesh.bounds.mean(axis=0)
    steps = [
        timed("read_measure", "load the scan, nothing else", lambda: trimesh.load(path)),
        timed("section", "one cut through the scan", lambda: mesh.section(plane_origin=middle, plane_normal=across)),
        timed("write", "the scan as STL again", lambda: mesh.export(io.BytesIO(), file_type="stl")),
    ]
    print(json.dumps({"steps": steps}))


if __name__ == "__main__":
    main()
