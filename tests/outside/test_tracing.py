"""Traced outlines against other libraries: drawings that ezdxf and svgwrite wrote, measured by shapely and scipy;
pictures rendered and traced by scikit-image.

The example `trace` of the crate `last` prints what was traced.
"""

import json
import math
import os
import subprocess

import ezdxf
import ezdxf.math
import ezdxf.path
import numpy as np
import PIL.Image
import PIL.ImageDraw
import pytest
import scipy.interpolate
import skimage.filters
import skimage.io
import skimage.measure
import svgwrite
from shapely.geometry import LineString, Polygon

from conftest import CALL_TIMEOUT_S, ROOT

# The project's own flattening, mm; the libraries are asked for a finer one.
SAG_MM = 0.02


def trace(*words, ok=True):
    """Calls the example; its JSON, or the message of a refusal."""
    binary = os.environ.get("TRACE_BIN", str(ROOT / "target" / "release" / "examples" / "trace"))
    done = subprocess.run([binary, *map(str, words)], capture_output=True, text=True, timeout=CALL_TIMEOUT_S)
    assert done.returncode == (0 if ok else 2), f"{words}\n{done.stdout[-500:]}\n{done.stderr[-2000:]}"
    return json.loads(done.stdout) if ok else done.stdout


def sole(count=2000):
    """An invented outline of an insole, mm: wide in front, hollow on one side, x along it."""
    t = np.linspace(0, 2 * np.pi, count, endpoint=False)
    x = 135 * np.cos(t)
    half = 36 + 0.06 * x + 6 * np.cos(2.2 * x / 135)
    return np.column_stack([x, half * np.sin(t) + 9 * np.sin(x / 60) * np.clip(np.sin(t), 0, None) ** 2])


def agree(curve, theirs, within_mm):
    """Area within the band of `within_mm` round the edge, and no point farther from the other curve than that."""
    ours = Polygon(curve["points"])
    assert ours.is_valid
    assert abs(ours.area - theirs.area) < within_mm * theirs.length
    assert ours.exterior.hausdorff_distance(theirs.exterior) < within_mm


def saved(document, path):
    document.saveas(path)
    return trace("drawing", path)


def new_dxf(version="R2010", units=4):
    document = ezdxf.new(version)
    document.header["$INSUNITS"] = units
    return document, document.modelspace()


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2018"])
def test_polylines_of_every_age(tmp_path, version):
    document, space = new_dxf(version)
    space.add_polyline2d(sole(), close=True) if version == "R12" else space.add_lwpolyline(sole(), close=True)
    drawing = saved(document, tmp_path / "a.dxf")
    assert len(drawing["curves"]) == 1 and drawing["curves"][0]["closed"]
    agree(drawing["curves"][0], Polygon(sole()), 1e-3)


def flattened(entity):
    """ezdxf's own flattening of an entity, ten times finer than ours."""
    return Polygon([(p.x, p.y) for p in ezdxf.path.make_path(entity).flattening(SAG_MM / 10)])


def evaluated(spline):
    """A SPLINE evaluated by scipy, over the part where its basis is whole."""
    control = np.array(spline.control_points)[:, :2]
    weights = np.array(list(spline.weights) or [1.0] * len(control))
    degree, knots = spline.dxf.degree, np.array(spline.knots)
    curve = scipy.interpolate.BSpline(knots, np.column_stack([control * weights[:, None], weights]), degree)
    x, y, w = curve(np.linspace(knots[degree], knots[len(control)], 20_000)).T
    return Polygon(np.column_stack([x / w, y / w]))


def test_splines_ellipses_and_bulges(tmp_path):
    rng = np.random.default_rng(5)
    for turn in range(12):
        document, space = new_dxf()
        control = sole(14) + rng.normal(0, 3, (14, 2))
        if turn % 4 == 0:
            closed = ezdxf.math.closed_uniform_bspline([(*p, 0) for p in control], order=3 + turn % 3)
            entity = space.add_spline().apply_construction_tool(closed)
        elif turn % 4 == 1:
            ring = [(*p, 0) for p in [*control, control[0]]]
            entity = space.add_rational_spline(ring, rng.uniform(0.5, 3, 15), degree=2 + turn % 3)
        elif turn % 4 == 2:
            entity = space.add_ellipse((5, 7), major_axis=(*rng.normal(0, 100, 2), 0), ratio=rng.uniform(0.2, 1))
        else:
            bulges = rng.uniform(-0.3, 0.6, 14)
            entity = space.add_lwpolyline(np.column_stack([control, bulges]), format="xyb", close=True)
        drawing = saved(document, tmp_path / "a.dxf")
        if turn % 4 < 2:
            theirs = evaluated(entity)
        elif turn % 4 == 2:
            # Their path of an ellipse is four cubics, 0.0003 of its size off; its vertices are exact.
            theirs = Polygon([(p.x, p.y) for p in entity.vertices(np.linspace(0, 2 * np.pi, 5000))])
        else:
            theirs = flattened(entity)
        assert drawing["curves"][0]["closed"], turn
        ours = Polygon(drawing["curves"][0]["points"])
        # A drawing at random may cross itself; its edge can be compared all the same.
        assert ours.exterior.hausdorff_distance(theirs.exterior) < 1.5 * SAG_MM, turn


def test_pieces_arcs_and_lines_close(tmp_path):
    document, space = new_dxf(units=5)
    space.add_arc((0, 0), 4, 90, 270)
    space.add_line((0, 4), (20, 5))
    space.add_arc((20, 0), 5, 270, 90)
    space.add_line((20, -5), (0, -4))
    drawing = saved(document, tmp_path / "a.dxf")
    assert len(drawing["curves"]) == 1 and drawing["curves"][0]["closed"]
    exact = 100 * (math.pi * 16 / 2 + math.pi * 25 / 2 + 20 * 9)
    assert Polygon(drawing["curves"][0]["points"]).area == pytest.approx(exact, rel=1e-3)


def test_pieces_in_blocks(tmp_path):
    document, space = new_dxf()
    block = document.blocks.new("PIECE", base_point=(10, -5))
    block.add_lwpolyline(sole(), close=True)
    insert = space.add_blockref("PIECE", (50, 60), dxfattribs={"xscale": 1, "yscale": -1, "rotation": 37})
    drawing = saved(document, tmp_path / "a.dxf")
    theirs = next(iter(insert.virtual_entities()))
    agree(drawing["curves"][0], flattened(theirs), 1e-3)


def test_seen_from_behind(tmp_path):
    document, space = new_dxf()
    extrusion = {"extrusion": (0, 0, -1)}
    shapes = [
        space.add_arc((30, 5), 40, 20, 290, dxfattribs=extrusion),
        space.add_lwpolyline([(0, 0, 0.4), (90, 5, 0), (60, 70, -0.2)], format="xyb", dxfattribs=extrusion),
        space.add_ellipse((100, 300), (80, 10, 0), 0.4, 0.5, 4, dxfattribs=extrusion),
    ]
    drawing = saved(document, tmp_path / "a.dxf")
    theirs = [LineString([(p.x, p.y) for p in ezdxf.path.make_path(s).flattening(SAG_MM / 10)]) for s in shapes]
    assert len(drawing["curves"]) == 3
    for curve in drawing["curves"]:
        assert min(LineString(curve["points"]).hausdorff_distance(other) for other in theirs) < 1.5 * SAG_MM


def test_binary_dxf_is_refused_with_advice(tmp_path):
    document, space = new_dxf()
    space.add_circle((0, 0), 50)
    document.saveas(tmp_path / "a.dxf", fmt="bin")
    message = trace("drawing", tmp_path / "a.dxf", ok=False)
    assert "binary DXF" in message and "ASCII" in message and "a.dxf" in message


def test_svg_of_another_writer(tmp_path):
    path = tmp_path / "a.svg"
    drawing = svgwrite.Drawing(path, size=("320mm", "240mm"), viewBox="-160 -120 320 240")
    group = drawing.g(transform="rotate(25) translate(4,-3)")
    group.add(drawing.polygon(sole().tolist(), id="sole"))
    group.add(drawing.circle((20, 10), 12))
    drawing.add(group)
    drawing.add(drawing.text("left", (0, 0)))
    drawing.save()
    read = trace("drawing", path)
    assert [c["label"] for c in read["curves"]][0] == "sole" and len(read["curves"]) == 2
    cos, sin = math.cos(math.radians(25)), math.sin(math.radians(25))
    x, y = (sole() + [4, -3]).T
    # The origin is the sheet's upper left corner, y up.
    turned = np.column_stack([x * cos - y * sin + 160, -(x * sin + y * cos + 120)])
    agree(read["curves"][0], Polygon(turned), 1e-3)
    assert "320.0 by 240.0 mm" in read["unit"]["text"]
    assert Polygon(read["curves"][1]["points"]).area == pytest.approx(math.pi * 144, rel=5e-3)


def test_svg_cubics_against_bernstein(tmp_path):
    """Cubics summed from Bernstein's polynomials by numpy."""
    rng = np.random.default_rng(7)
    knots = sole(9)
    controls = [(knots[i], knots[i] + rng.normal(0, 20, 2), knots[(i + 1) % 9] + rng.normal(0, 20, 2)) for i in range(9)]
    words, points = [f"M{knots[0][0]} {knots[0][1]}"], []
    t = np.linspace(0, 1, 400, endpoint=False)[:, None]
    for i, (p, a, b) in enumerate(controls):
        q = knots[(i + 1) % 9]
        words.append(f"C{a[0]},{a[1]} {b[0]},{b[1]} {q[0]},{q[1]}")
        points.append((1 - t) ** 3 * p + 3 * (1 - t) ** 2 * t * a + 3 * (1 - t) * t**2 * b + t**3 * q)
    path = tmp_path / "a.svg"
    path.write_text(f'<svg width="10cm" height="10cm" viewBox="0 0 100 100"><path d="{" ".join(words)}Z"/></svg>')
    theirs = Polygon(np.concatenate(points) * [1, -1])
    ours = Polygon(trace("drawing", path)["curves"][0]["points"])
    assert ours.exterior.hausdorff_distance(theirs.exterior) < 1.5 * SAG_MM


DOTS_PER_INCH = 127
MM_PER_PIXEL = 25.4 / DOTS_PER_INCH
SHEET_MM = (220, 310)


def rendered(insole, ground):
    """The sole upright on a sheet, each pixel the mean of 5 by 5, and its polygon, mm, y up."""
    outline = sole()[:, ::-1] * [1, -1] + np.array(SHEET_MM) / 2
    columns, rows = (int(side / MM_PER_PIXEL) for side in SHEET_MM)
    fine = outline / MM_PER_PIXEL * 5 - 0.5
    fine[:, 1] = rows * 5 - 1 - fine[:, 1]
    mask = PIL.Image.new("L", (columns * 5, rows * 5))
    PIL.ImageDraw.Draw(mask).polygon([tuple(p) for p in fine], fill=1)
    share = np.asarray(mask).reshape(rows, 5, columns, 5).mean(axis=(1, 3))
    return ground + (insole - ground) * share, Polygon(outline)


def traced(picture, tmp_path):
    path = tmp_path / "a.png"
    skimage.io.imsave(path, np.clip(np.round(picture), 0, 255).astype(np.uint8), check_contrast=False)
    return Polygon(trace("picture", path, MM_PER_PIXEL))


@pytest.mark.parametrize("insole,ground", [(60, 225), (210, 70)])
def test_an_even_picture_as_scikit_image_traces_it(tmp_path, insole, ground):
    picture, truth = rendered(insole, ground)
    noisy = np.clip(np.round(picture + np.random.default_rng(3).normal(0, 4, picture.shape)), 0, 255)
    ours = traced(noisy, tmp_path)
    smooth = skimage.filters.gaussian(noisy, 2, preserve_range=True)
    contours = skimage.measure.find_contours(smooth, (insole + ground) / 2)
    row, column = max(contours, key=len).T
    theirs = Polygon(np.column_stack([column + 0.5, picture.shape[0] - row - 0.5]) * MM_PER_PIXEL)
    # Both place the edge between pixels; what is left is noise.
    assert ours.exterior.hausdorff_distance(theirs.exterior) < 0.15
    assert ours.area == pytest.approx(theirs.area, rel=1e-3)
    assert ours.area == pytest.approx(truth.area, rel=2e-3)


def test_uneven_light_noise_texture_and_a_print(tmp_path):
    rng = np.random.default_rng(8)
    picture, truth = rendered(95, 200)
    rows, columns = picture.shape
    y, x = np.mgrid[0:rows, 0:columns]
    picture[rows // 2 - 60 : rows // 2, columns // 2 - 30 : columns // 2 + 30] = 200
    texture = skimage.filters.gaussian(rng.normal(0, 1, picture.shape), 3)
    picture += 6 * texture / texture.std()
    picture *= 1 - 0.3 * (x / columns + y / rows) / 2
    picture += rng.normal(0, 8, picture.shape)
    ours = traced(picture, tmp_path)
    assert ours.exterior.hausdorff_distance(truth.exterior) < 0.5
    assert ours.area == pytest.approx(truth.area, rel=3e-3)


def test_an_empty_sheet_is_refused_with_advice(tmp_path):
    path = tmp_path / "a.png"
    sheet = np.random.default_rng(1).normal(200, 8, (500, 400))
    skimage.io.imsave(path, sheet.astype(np.uint8), check_contrast=False)
    message = trace("picture", path, 0.4, ok=False)
    assert "nothing of an insole's size stands out" in message and "by hand" in message
