"""The contact model's solve written with numpy and scipy, on the invented case of the example `timing` of the crate `contact`.

    python bench_contact.py TIMING      runs the example at TIMING, solves the same, and prints one JSON object with the times

The answers have to agree, so this is another check of the model's solver. Linear columns only.
"""

import json
import statistics
import subprocess
import sys
import time

import numpy as np
import scipy.sparse
import scipy.sparse.linalg

RUNS = 3
AGREE = 1e-4

COLUMNS, ROWS = 270, 110
FORCE_N, AT_MM = 400.0, (115.0, 2.0)


def case(pad_mm):
    """Bearing nodes, their places, springs in MPa/mm and the body's profile, as the example has them."""
    x, y = np.meshgrid(np.arange(COLUMNS, dtype=float), np.arange(ROWS) - 55.0)
    half = 36 + 0.06 * (x - 135) + 6 * np.cos((x - 135) / 61)
    bears = ((x - 135) / 134) ** 2 + (y / half) ** 2 < 1
    spring = (1 + 0.3 * np.sin(x / 30)) / (12 / 0.25 + 6 / 1.2)

    def hill(a, b, radius):
        return ((x - a) ** 2 + (y - b) ** 2) / (2 * radius)

    hills = [hill(30, 0, 45), hill(190, 15, 60), hill(180, -20, 55), 2 + hill(240, 5, 60), np.full_like(x, 6)]
    arch = 12 * np.exp(-(((x - 125) / 35) ** 2)) * np.clip(1 + y / 40, 0, None)
    far = np.hypot(x - 165, y) / 20
    pad = np.where(far < 1, (1 - far**2) ** 2, 0)
    profile = np.min(hills, axis=0) + 0.2 * arch - pad_mm * pad
    ways = np.column_stack([np.ones(bears.sum()), x[bears] - AT_MM[0], y[bears] - AT_MM[1]])
    return bears, ways, spring[bears], profile[bears]


def alone(ways, spring, profile, start):
    """Newton's method on depth and slopes; which nodes touch follows from them."""
    pose = start.copy()
    for _ in range(100):
        depth = ways @ pose - profile
        touches = depth > 0
        pressure = np.where(touches, spring * depth, 0)
        excess = ways.T @ pressure - [FORCE_N, 0, 0]
        if np.abs(excess).max() < 1e-7 * FORCE_N:
            return pose, pressure
        part = ways[touches]
        pose -= np.linalg.solve((part * spring[touches, None]).T @ part, excess)
    raise SystemExit("no balance")


def ties(bears, strength):
    """The shear layer as a matrix over the bearing nodes."""
    number = np.full(bears.shape, -1)
    number[bears] = np.arange(bears.sum())
    pairs = [np.column_stack([a[(a >= 0) & (b >= 0)], b[(a >= 0) & (b >= 0)]]) for a, b in
             ((number[:, :-1], number[:, 1:]), (number[:-1], number[1:]))]
    one, other = np.concatenate(pairs).T
    count = bears.sum()
    links = scipy.sparse.coo_matrix((np.full(len(one), strength), (one, other)), (count, count))
    links = (links + links.T).tocsr()
    return scipy.sparse.diags(np.asarray(links.sum(axis=1)).ravel()) - links


def tied(ways, spring, profile, layer, start):
    """Active set: where the body touches, the compression is its depth; elsewhere nothing presses."""
    matrix = (layer + scipy.sparse.diags(spring)).tocsc()
    touches = start
    for _ in range(100):
        free, led = np.flatnonzero(~touches), np.flatnonzero(touches)
        factor = scipy.sparse.linalg.splu(matrix[free][:, free])
        # Compression under each way of moving, and with the body at the pose of rest.
        moved = np.zeros((len(spring), 4))
        moved[led] = np.column_stack([ways[led], -profile[led]])
        moved[free] = factor.solve(-(matrix[free][:, led] @ moved[led]))
        carried = matrix @ moved
        balance = ways[led].T @ carried[led]
        pose = np.linalg.solve(balance[:, :3], [FORCE_N, 0, 0] - balance[:, 3])
        w, pressure = moved @ [*pose, 1], carried @ [*pose, 1]
        depth = ways @ pose - profile
        now = np.where(touches, pressure > 0, depth > w)
        if (now == touches).all():
            return pose, np.where(touches, pressure, 0)
        touches = now
    raise SystemExit("no balance")


def timed(work):
    times_ms = []
    for _ in range(RUNS):
        start = time.perf_counter()
        answer = work()
        times_ms.append((time.perf_counter() - start) * 1000)
    return statistics.median(times_ms), answer


def main():
    done = subprocess.run([sys.argv[1]], capture_output=True, text=True, check=True)
    found = json.loads(done.stdout)
    bears, ways, spring, level = case(0.0)
    raised = case(0.5)[3]
    assert found["nodes"] == bears.sum()
    steps = []
    for ours in (each for each in found["cases"] if each["curve"] == "linear"):
        strength = ours["shear_n_per_mm"]
        start, _ = alone(ways, spring, level, np.array([6.0, 0.0, 0.0]))
        if strength > 0:
            layer = ties(bears, strength)
            settled = tied(ways, spring, level, layer, ways @ start - level > 0)[1]
            ms, (pose, pressure) = timed(lambda: tied(ways, spring, raised, layer, settled > 0))
        else:
            ms, (pose, pressure) = timed(lambda: alone(ways, spring, raised, start))
        warm = ours["warm"]
        assert abs(pose[0] / warm["sink_mm"] - 1) < AGREE, (pose, warm)
        assert abs(1000 * pressure.max() / warm["most_kpa"] - 1) < AGREE, (pressure.max(), warm)
        label = f"settle from the neighbouring case, shear layer {strength:.2f} N/mm"
        steps.append({"label": label, "ms_median": ms, "ms_solewright": warm["ms"], "runs": RUNS})
    print(json.dumps({"steps": steps, "library": f"numpy {np.__version__}, scipy {scipy.__version__}"}))


if __name__ == "__main__":
    main()
