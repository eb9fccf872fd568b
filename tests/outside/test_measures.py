"""Foot length and breadth, side, pose and landmarks, measured a second time on the same mesh by other means.

Allowed error 2 mm for the foot: ISO 20685 as restated in a textbook chapter on anthropometry for apparel. The feet are
cut from a CC0 body model (see body_feet.py); no constant of the program was fitted to them.
"""

import numpy as np
import pytest
import trimesh

from body_feet import BODIES, foot, great_toe_joint, posed

ALLOWED_MM = 2.0
# Landmarks away from the heel are searched over wider, rounder skin.
BALL_ALLOWED_MM = 6.0
# In plan, from the mesh's own extremes along and across the foot's axis.
END_PLAN_MM, BALL_PLAN_MM = 2.0, 8.0
UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}


def silhouette(mesh, below=40.0):
    points = mesh.vertices[mesh.vertices[:, 2] < below]
    return points[:, :2]


def by_extremes(mesh, side):
    """Heel, toe, foot length and breadth from the vertices alone: length and breadth along and square to the line from
    the rearmost point to the second toe's tip, which is found as the foremost vertex of the second of five lobes."""
    points = mesh.vertices[mesh.vertices[:, 2] < 60.0]
    heel = points[points[:, 1].argmin()]
    plan = silhouette(mesh)
    second = second_toe(mesh, side)
    axis = second[:2] - heel[:2]
    axis /= np.linalg.norm(axis)
    across = np.array([-axis[1], axis[0]])
    along = plan @ axis
    length = along.max() - along.min()
    breadth = np.ptp(plan @ across)
    return heel, length, breadth


def second_toe(mesh, side):
    """Tip of the second toe: foremost point of its lobe in the plan silhouette, lobes told apart by the gaps."""
    plan = silhouette(mesh)
    front = plan[:, 1].max()
    toes = plan[plan[:, 1] > front - 45.0]
    medial = -1.0 if side == "right" else 1.0
    x = toes[:, 0] * medial
    columns = np.linspace(x.min(), x.max(), 160)
    reach = np.array([toes[np.abs(x - c) < 0.8, 1].max(initial=-np.inf) for c in columns])
    tips = [i for i in range(2, 158) if reach[i] == reach[max(0, i - 6) : i + 7].max() and reach[i] > front - 40.0]
    columns = columns[tips][::-1]
    reach = reach[tips][::-1]
    lobes = [(columns[0], reach[0])]
    for c, r in zip(columns[1:], reach[1:]):
        if lobes[-1][0] - c > 6.0:
            lobes.append((c, r))
    c, r = lobes[1]
    return np.array([c * medial, r])


CASES = [(body, side) for body in BODIES for side in ("left", "right")]


@pytest.mark.parametrize("number,body,side", [(i, *case) for i, case in enumerate(CASES)])
def test_a_foot_is_measured_alike_in_any_pose_and_unit(solewright, tmp_path, number, body, side):
    mesh = foot(body, side)
    unit = list(UNITS)[number % len(UNITS)]
    turned, _ = posed(mesh, seed=number, unit_mm=UNITS[unit])
    path = tmp_path / "foot.stl"
    turned.export(path)
    answer = solewright("measure", path, "--json").json

    assert answer["side"] == side
    assert answer["unit"] == unit
    _, length, breadth = by_extremes(mesh, side)
    assert answer["measures"]["foot_length_mm"] == pytest.approx(length, abs=ALLOWED_MM)
    assert answer["measures"]["foot_breadth_mm"] == pytest.approx(breadth, abs=ALLOWED_MM)


@pytest.mark.parametrize("body,side", CASES)
def test_landmarks_lie_on_the_skin_where_the_extremes_are(solewright, tmp_path, body, side):
    mesh = foot(body, side)
    path = tmp_path / "foot.stl"
    mesh.export(path)
    answer = solewright("measure", path, "--json").json
    marks = {name: np.array(mark["scan"]) for name, mark in answer["landmarks"].items()}

    # A landmark is a point of the skin: the distance to the scanned surface is measured by another library.
    on_skin = ["pternion", "akropodion", "metatarsale_tibiale", "metatarsale_fibulare"]
    _, distances, _ = trimesh.proximity.closest_point(mesh, np.array([marks[name] for name in on_skin]))
    assert distances.max() < 1.0, dict(zip(on_skin, distances))

    heel, length, _ = by_extremes(mesh, side)
    assert np.linalg.norm(marks["pternion"][:2] - heel[:2]) < 2.0 * ALLOWED_MM
    assert marks["akropodion"][1] == pytest.approx(mesh.vertices[:, 1].max(), abs=ALLOWED_MM)

    # Most medial and most lateral skin of the forefoot, in the direction square to the foot axis.
    medial = np.array([-1.0, 0.0, 0.0] if side == "right" else [1.0, 0.0, 0.0])
    start = mesh.vertices[:, 1].min()
    share = (mesh.vertices[:, 1] - start) / length
    for name, low, high, direction in [
        ("metatarsale_tibiale", 0.62, 0.82, medial),
        ("metatarsale_fibulare", 0.52, 0.76, -medial),
    ]:
        band = mesh.vertices[(share > low) & (share < high) & (mesh.vertices[:, 2] < 45.0)]
        reach = (band @ direction).max()
        assert marks[name] @ direction == pytest.approx(reach, abs=BALL_ALLOWED_MM), name

    # The map to the foot frame is the one the landmarks were told with.
    to_foot = np.array(answer["to_foot_frame"]).reshape(4, 4)
    for name, mark in answer["landmarks"].items():
        mapped = to_foot @ [*mark["scan"], 1.0]
        assert np.allclose(mapped[:3], mark["foot"], atol=1e-6), name
    assert np.sign(np.linalg.det(to_foot[:3, :3])) == (1 if side == "right" else -1)


@pytest.mark.parametrize("body,side", CASES)
def test_landmarks_are_the_extremes_in_the_foot_frame(solewright, tmp_path, body, side):
    """Ends of the foot and of the ball. On the men of this model the border of the ball reaches farthest out near three
    quarters of the foot length: that is still the metatarsal, for the joint of the big toe lies in front of it."""
    mesh = foot(body, side)
    path = tmp_path / "foot.stl"
    mesh.export(path)
    answer = solewright("measure", path, "--json").json
    marks = {name: np.array(mark["foot"])[:2] for name, mark in answer["landmarks"].items()}
    frame = np.array(answer["to_foot_frame"]).reshape(4, 4)
    low = mesh.vertices[mesh.vertices[:, 2] < 40.0] @ frame[:3, :3].T + frame[:3, 3]
    length = np.ptp(low[:, 0])

    for name, reach in (("pternion", -low[:, 0]), ("akropodion", low[:, 0])):
        # A round end is nearly level: all vertices as far out within 0.1 mm are the extreme.
        extreme = low[reach > reach.max() - 0.1, :2]
        assert np.linalg.norm(extreme - marks[name], axis=1).min() < END_PLAN_MM, name
    for name, first, last, sign in (
        ("metatarsale_tibiale", 0.64, 0.80, 1.0),
        ("metatarsale_fibulare", 0.53, 0.72, -1.0),
    ):
        band = low[(low[:, 0] > first * length) & (low[:, 0] < last * length)]
        extreme = band[(sign * band[:, 1]).argmax(), :2]
        assert np.linalg.norm(extreme - marks[name]) < BALL_PLAN_MM, name

    joint = frame[:2, :2] @ great_toe_joint(body, side) + frame[:2, 3]
    assert 0.0 < joint[0] - marks["metatarsale_tibiale"][0] < 0.1 * length


def test_noise_of_a_scanner_moves_length_by_less_than_the_allowed_error(solewright, tmp_path):
    mesh = foot("man", "right").copy()
    _, length, breadth = by_extremes(mesh, "right")
    random = np.random.default_rng(7)
    mesh.vertices += mesh.vertex_normals * random.normal(0.0, 0.3, (len(mesh.vertices), 1))
    path = tmp_path / "noisy.stl"
    posed(mesh, seed=3)[0].export(path)
    answer = solewright("measure", path, "--json").json
    assert answer["side"] == "right"
    assert answer["measures"]["foot_length_mm"] == pytest.approx(length, abs=ALLOWED_MM)
    assert answer["measures"]["foot_breadth_mm"] == pytest.approx(breadth, abs=ALLOWED_MM)


def test_ball_girth_is_the_tape_round_the_section(solewright, tmp_path):
    """The tape runs round the convex hull of the section through both metatarsale points, square to the sole."""
    mesh = foot("man", "right")
    path = tmp_path / "foot.stl"
    mesh.export(path)
    answer = solewright("measure", path, "--json").json
    a, b = (np.array(answer["landmarks"][name]["scan"]) for name in ("metatarsale_tibiale", "metatarsale_fibulare"))
    normal = np.cross(b - a, [0.0, 0.0, 1.0])
    section = mesh.section(plane_origin=a, plane_normal=normal)
    along = (b - a) * [1, 1, 0]
    along = along / np.linalg.norm(along)
    flat = np.column_stack([section.vertices @ along, section.vertices[:, 2]])
    from scipy.spatial import ConvexHull

    # In two dimensions scipy calls the perimeter the area.
    tape = ConvexHull(flat).area
    assert answer["measures"]["ball_girth_mm"] == pytest.approx(tape, rel=0.03)
