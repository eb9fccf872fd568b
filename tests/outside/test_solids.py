"""The insole's STL, judged by a general-purpose mesh library and by arithmetic on its bytes."""

import json
import struct

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh

from body_feet import foot


@pytest.fixture(scope="module")
def pair(solewright, workshop):
    """A pair made from two feet of the body model, with a pad, a relief, a set cup and a hardness region."""
    scans = []
    for side in ("left", "right"):
        path = workshop / f"{side}.stl"
        foot("broad_man", side).export(path)
        scans.append(path)
    case = workshop / "pair.solewright"
    solewright("draft", *scans, "--size", "paris:42", "--state", "half", "--mass-kg", "82", "--out", case, "--json")
    edits = []
    for side in ("left", "right"):
        edits += [
            {"set_surface": {"side": side, "param": "cup_depth_mm", "value": 14.0}},
            {"set_surface": {"side": side, "param": "base_thickness_mm", "value": 5.0}},
            {"add_element": {"side": side, "kind": "metatarsal_pad", "params": {"x_mm": 160.0, "y_mm": 0.0, "height_mm": 6.0}}},
            {"add_element": {"side": side, "kind": "relief", "params": {"x_mm": 30.0, "y_mm": 0.0, "depth_mm": 2.0}}},
            {"add_region": {"side": side, "name": "heel", "points": [[5, -20], [50, -22], [55, 20], [8, 18]], "shore_a": 22.0, "transition_mm": 12.0}},
        ]
    listed = workshop / "edits.json"
    listed.write_text(json.dumps(edits))
    shaped = workshop / "shaped.solewright"
    told = solewright("apply", case, listed, "--out", shaped, "--json").json
    out = workshop / "made"
    made = solewright("make", shaped, "--out", out, "--json").json
    return told, made, out


def stl_of(out, side):
    (path,) = [p for p in out.glob("*.stl") if side in p.name]
    return path


@pytest.mark.parametrize("side", ["left", "right"])
def test_the_solid_is_closed_and_oriented(pair, side):
    mesh = trimesh.load_mesh(stl_of(pair[2], side))
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.body_count == 1
    assert mesh.volume > 0.0
    # A strict kernel takes it without repair.
    kernel = manifold3d.Manifold(manifold3d.Mesh(mesh.vertices.astype(np.float32), mesh.faces.astype(np.uint32)))
    assert kernel.status() == manifold3d.Error.NoError
    assert kernel.volume() == pytest.approx(mesh.volume, rel=1e-4)
    assert mesh.area_faces.min() > 1e-3


@pytest.mark.parametrize("side", ["left", "right"])
def test_its_bytes_are_a_binary_stl(pair, side):
    """84 + 50 n bytes, little-endian, header not beginning with "solid": the layout in the format's public descriptions."""
    data = stl_of(pair[2], side).read_bytes()
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count
    assert not data.startswith(b"solid")


@pytest.mark.parametrize("side", ["left", "right"])
def test_its_sizes_are_those_told(pair, side):
    told, _, out = pair
    mesh = trimesh.load_mesh(stl_of(out, side))
    sizes = dict(told["feet"][side]["outline_sizes"])
    low, high = mesh.bounds
    assert high[0] - low[0] == pytest.approx(sizes["Insole length"], abs=0.3)
    assert high[1] - low[1] >= sizes["Width at ball"] - 0.5
    # Base 5 mm below the foot's plane; the cup asked for 14 mm and the arch may be higher.
    assert low[2] == pytest.approx(-5.0, abs=1e-3)
    assert high[2] >= 12.0

    # Thickness by rays through the solid, independent of how it was made.
    x = np.linspace(low[0] + 8, high[0] - 8, 60)
    y = np.linspace(low[1] + 8, high[1] - 8, 24)
    grid = np.array([(a, b, low[2] - 10.0) for a in x for b in y])
    up = np.tile([0.0, 0.0, 1.0], (len(grid), 1))
    places, rays, _ = mesh.ray.intersects_location(grid, up)
    heights = {}
    for place, ray in zip(places, rays):
        heights.setdefault(int(ray), []).append(place[2])
    thickness = [max(h) - min(h) for h in heights.values() if len(h) >= 2]
    assert len(thickness) > 500
    assert min(thickness) >= told["feet"][side]["thinnest_mm"] - 0.1


def test_left_and_right_lie_as_in_the_shoe(pair):
    """Seen from above, toes forward, a left insole's arch is on its right, a right insole's on its left."""
    for side, medial in (("left", -1.0), ("right", 1.0)):
        mesh = trimesh.load_mesh(stl_of(pair[2], side))
        low, high = mesh.bounds
        middle = low[0] + 0.42 * (high[0] - low[0])
        near = mesh.vertices[np.abs(mesh.vertices[:, 0] - middle) < 6.0]
        highest = near[near[:, 2].argmax()]
        centre = near[:, 1].mean()
        assert np.sign(highest[1] - centre) == medial, side


def test_the_job_sheet_names_what_was_decided(pair):
    (sheet,) = pair[2].glob("*job-sheet.html")
    text = sheet.read_text()
    for word in ("paris:42", "Shore A", "82", "heel", "Metatarsal pad"):
        assert word in text, word
    assert "<script" not in text


def test_the_same_case_gives_the_same_bytes(pair, solewright, workshop):
    again = workshop / "again"
    solewright("make", workshop / "shaped.solewright", "--out", again)
    for path in pair[2].iterdir():
        assert (again / path.name).read_bytes() == path.read_bytes(), path.name


def ramp(d, rounding):
    """0 before 0, d behind it, the corner rounded by a parabola: what help and source of wedge and lift describe."""
    inside = np.clip(d + rounding / 2, 0.0, rounding)
    return np.where(d >= rounding / 2, d, inside**2 / (2 * rounding))


def over_plan(plan, height):
    """The integral of a height over the plan, by strips of 0.05 mm, their ends cut exactly."""
    low_x, _, high_x, _ = plan.bounds
    step = 0.05
    total = 0.0
    # Gauss's three points in each strip across: exact for parabolas.
    nodes, weights = np.polynomial.legendre.leggauss(3)
    for x in np.arange(low_x + step / 2, high_x, step):
        cut = plan.intersection(shapely.LineString([(x, -200.0), (x, 200.0)]))
        for piece in getattr(cut, "geoms", [cut]):
            if piece.length == 0.0:
                continue
            low, high = piece.bounds[1], piece.bounds[3]
            pieces = np.linspace(low, high, 41)
            middle, half = (pieces[1:] + pieces[:-1]) / 2, (pieces[1:] - pieces[:-1]) / 2
            y = middle[:, None] + half[:, None] * nodes
            total += step * (half[:, None] * weights * height(x, y)).sum()
    return total


@pytest.fixture(scope="module")
def plain(solewright, workshop):
    """Makes a right foot's insole with sharp edges and elements; its volume and its plan."""
    scan = workshop / "volume.stl"
    foot("broad_man", "right").export(scan)
    case = workshop / "volume.solewright"
    solewright("draft", scan, "--side", "right", "--size", "paris:42", "--out", case, "--json")

    def volume(*elements):
        edits = [{"set_surface": {"side": "right", "param": "rim_rounding_mm", "value": 0.0}}, *elements]
        listed, shaped, out = (workshop / f"volume{ending}" for ending in (".json", "2.solewright", "-made"))
        listed.write_text(json.dumps(edits))
        solewright("apply", case, listed, "--out", shaped, "--json")
        solewright("make", shaped, "--only", "solid", "--out", out)
        mesh = trimesh.load_mesh(stl_of(out, "right"))
        # Without a bevel the underside covers the whole plan.
        return mesh.volume, trimesh.path.polygons.projected(mesh, normal=[0.0, 0.0, 1.0])

    return volume


def added(kind, **params):
    return {"add_element": {"side": "right", "kind": kind, "params": params}}


def test_a_lift_and_a_wedge_add_the_volume_of_their_closed_forms(plain):
    """Volumes by the divergence theorem on the STL against integrals over the plan; within 0.1 %."""
    bare, plan = plain()

    def along(x, rounding):
        return 1.0 - (ramp(x - 60.0, rounding) - ramp(x - 60.0 - 80.0, rounding)) / 80.0

    lifted, _ = plain(added("heel_lift", height_mm=6.0, full_to_mm=60.0, run_out_mm=80.0))
    expected = over_plan(plan, lambda x, y: 6.0 * along(x, 12.0) + 0.0 * y)
    assert lifted - bare == pytest.approx(expected, rel=1e-3)

    # The run-out of the wedge is a smooth step, told by its help only in length: compare where it is full, by difference
    # of two wedges that end at the same place.
    steep, _ = plain(added("rearfoot_wedge", raised_side=0.0, angle_deg=6.0, hinge_mm=20.0, full_to_mm=200.0, run_out_mm=150.0))
    expected = over_plan(
        plan,
        lambda x, y: np.tan(np.radians(6.0)) * ramp(y + 20.0, 4.0) * smooth_step((350.0 - x) / 150.0),
    )
    assert steep - bare == pytest.approx(expected, rel=1e-3)


def smooth_step(t):
    """A quintic with vanishing first and second derivatives at both ends (Perlin 2002)."""
    t = np.clip(t, 0.0, 1.0)
    return t**3 * (t * (6 * t - 15) + 10)
