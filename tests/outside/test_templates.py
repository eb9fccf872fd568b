"""Templates at true size, read back by libraries that share no code with their writers: ezdxf (MIT) for the DXF, lxml for
the SVG, MuPDF through pymupdf for the PDF; shapely compares the outlines.

Drawings: x to the wearer's right, y to the toes, mm. A foot of usual size, and one a seventh longer, which takes two sheets.
"""

import json
import re

import ezdxf
import numpy as np
import pymupdf
import pytest
import shapely
import trimesh
from ezdxf import recover
from ezdxf.lldxf.encoding import decode_dxf_unicode
from lxml import etree

from body_feet import foot

# Far below what a knife follows; a template off by as much everywhere would still be right.
SAME_MM = 0.05
# What a coordinate may lose where it is written in thousandths of a millimetre or as a 32-bit number.
WRITTEN_MM = 0.003
BAR_MM = 100.0
MM_PER_POINT = 25.4 / 72.0
TITLE = "Check Größe 50% %%u ^J"
SIDES = ("left", "right")
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=["usual", "long"])
def made(request, solewright, workshop):
    """The folder of templates and solids of a pair with a pad on each side, and whether the feet are long."""
    name = request.param
    scans = []
    for side in SIDES:
        mesh = foot("man", side)
        if name == "long":
            mesh.apply_scale([1.0, 1.15, 1.0])
        path = workshop / f"template-{name}-{side}.stl"
        mesh.export(path)
        scans.append(path)
    case = workshop / f"template-{name}.solewright"
    solewright("draft", *scans, "--state", "half", "--mass-kg", "80", "--out", case, "--json")
    pads = [{"add_element": {"side": side, "kind": "metatarsal_pad", "params": {"x_mm": 150.0, "y_mm": 4.0}}} for side in SIDES]
    edits = workshop / "template-edits.json"
    edits.write_text(json.dumps([{"set_title": {"title": TITLE}}, *pads]))
    shaped = workshop / f"template-{name}-shaped.solewright"
    solewright("apply", case, edits, "--out", shaped, "--json")
    out = workshop / f"templates-{name}"
    solewright("make", shaped, "--out", out, "--only", "template,solid", "--json")
    return out, name == "long"


def file_of(made, extension):
    (path,) = made[0].glob(f"*template-{extension}.{extension}")
    return path


# ---- the three files as lines in mm, y up ---------------------------------------------------------------------------


def svg_root(made):
    return etree.parse(file_of(made, "svg")).getroot()


def svg_paths(made, group):
    """Points of every path of a group, and whether it is closed, mm, y up."""
    root = svg_root(made)
    height = float(root.get("viewBox").split()[3])
    paths = []
    for path in root.iterfind(f".//{SVG}g[@id='{group}']/{SVG}path"):
        d = path.get("d")
        assert re.fullmatch(r"M[-\d. ]+(L[-\d. ]+)+Z?", d)
        points = np.array([[float(n) for n in pair.split()] for pair in re.split("[ML]", d.rstrip("Z"))[1:]])
        paths.append((np.column_stack([points[:, 0], height - points[:, 1]]), d.endswith("Z")))
    return paths


def svg_outline(made, side):
    ((points, closed),) = svg_paths(made, f"insole-{side}")
    assert closed
    return shapely.Polygon(points)


def dxf_polylines(made, layer):
    space = ezdxf.readfile(file_of(made, "dxf")).modelspace()
    return [(np.array([p[:2] for p in line.get_points()]), line.closed) for line in space.query(f"LWPOLYLINE[layer=='{layer}']")]


class Page:
    """What MuPDF draws on one page: strokes with the box they are clipped to, mm, y up."""

    def __init__(self, page):
        self.page = page
        self.height = page.rect.height
        self.strokes = []
        clips = []
        for drawn in page.get_drawings(extended=True):
            while clips and clips[-1][0] >= drawn["level"]:
                clips.pop()
            if drawn["type"] == "clip":
                clips.append((drawn["level"], self.box(drawn["scissor"])))
            elif drawn["type"] == "s":
                self.strokes.append((drawn, self.points(drawn), clips[-1][1] if clips else None))

    def mm(self, p):
        return np.array([p.x, self.height - p.y]) * MM_PER_POINT

    def box(self, rect):
        return shapely.box(*(self.mm(rect.bl)), *(self.mm(rect.tr)))

    def points(self, drawn):
        lines = [item for item in drawn["items"] if item[0] == "l"]
        points = [self.mm(lines[0][1])] + [self.mm(line[2]) for line in lines] if lines else []
        return np.array(points)

    def outline(self):
        """The one solid line of half a millimetre within its clip, and the clip."""
        of_width = [
            (points, clip)
            for drawn, points, clip in self.strokes
            if abs(drawn["width"] * MM_PER_POINT - 0.5) < 1e-3 and drawn["dashes"] == "[] 0" and len(points) > 100
        ]
        ((points, clip),) = of_width
        return shapely.LinearRing(points), clip

    def straight(self, length, axis):
        """Middles of the solid strokes of this length along an axis."""
        middles = []
        for drawn, points, _ in self.strokes:
            if len(points) == 2 and drawn["dashes"] == "[] 0":
                along = abs(points[1] - points[0])
                if abs(along[axis] - length) < 0.01 and along[1 - axis] < 0.01:
                    middles.append(points.mean(axis=0))
        return middles

    def crosses(self):
        """Registration crosses, which are 8 mm across where a landmark's are 4 or 12, from left to right."""
        across, up = self.straight(8.0, 0), self.straight(8.0, 1)
        return sorted((a for a in across if any(np.linalg.norm(a - b) < 0.01 for b in up)), key=lambda p: p[0])


def pages(made):
    return [Page(page) for page in pymupdf.open(file_of(made, "pdf"))]


def pages_of(made, side):
    return [page for page in pages(made) if f"{side.upper()} foot" in page.page.get_text()]


def aligned(line, to):
    """The line moved so that the least corners of both bounds agree: no turn, no mirror, no scale."""
    by = np.array(to.bounds[:2]) - np.array(line.bounds[:2])
    return shapely.transform(line, lambda points: points + by)


# ---- SVG and DXF -------------------------------------------------------------------------------------------------------


def test_the_svg_counts_in_millimetres(made):
    root = svg_root(made)
    width, height = (float(re.fullmatch(r"([\d.]+)mm", root.get(name)).group(1)) for name in ("width", "height"))
    assert [float(n) for n in root.get("viewBox").split()] == [0.0, 0.0, width, height]


def test_the_dxf_is_sound(made):
    """Neither the strict reader nor the one for damaged files finds anything to say or to mend."""
    for document, auditor in (
        (document := ezdxf.readfile(file_of(made, "dxf")), document.audit()),
        recover.readfile(file_of(made, "dxf")),
    ):
        assert [e.message for e in auditor.errors] == [] and [e.message for e in auditor.fixes] == []
        assert document.units == ezdxf.units.MM
        layers = {layer.dxf.name for layer in document.layers}
        for entity in document.modelspace():
            assert entity.dxf.layer in layers
        for layer in document.layers:
            assert layer.dxf.linetype in document.linetypes
    expected = {f"{kind}_{side}" for kind in ("INSOLE", "FOOT", "CENTRE_LINE", "BALL_LINE", "ELEMENTS", "LANDMARKS", "TEXT") for side in ("LEFT", "RIGHT")}
    assert expected <= layers
    # A lone caret would announce a control character: the reference has it written with a space after it.
    texts = {decode_dxf_unicode(text.plain_text()).replace("^ ", "^") for text in document.modelspace().query("TEXT")}
    assert TITLE in texts


@pytest.mark.parametrize("side", SIDES)
def test_dxf_and_svg_hold_the_same_outline(made, side):
    ((points, closed),) = dxf_polylines(made, f"INSOLE_{side.upper()}")
    assert closed and np.linalg.norm(points[0] - points[-1]) > 0.01
    dxf, svg = shapely.Polygon(points), svg_outline(made, side)
    assert dxf.is_valid and svg.is_valid
    assert dxf.area == pytest.approx(svg.area, rel=1e-3)
    assert dxf.length == pytest.approx(svg.length, abs=SAME_MM)
    assert dxf.hausdorff_distance(svg) < SAME_MM


@pytest.mark.parametrize("side", SIDES)
def test_the_outline_is_that_of_the_solid_and_not_its_mirror_image(made, side):
    """The solid's file has x to the toes and y to the wearer's left: a quarter turn from the template."""
    (path,) = made[0].glob(f"*{side}-solid-stl.stl")
    mesh = trimesh.load_mesh(path)
    mesh.apply_transform(trimesh.transformations.rotation_matrix(np.pi / 2, [0, 0, 1]))
    plan = trimesh.path.polygons.projected(mesh, normal=[0, 0, 1])
    outline = svg_outline(made, side)
    apart = aligned(outline, plan)
    assert apart.exterior.hausdorff_distance(plan.exterior) < SAME_MM
    # The check can fail: the mirror image is far off.
    mirrored = shapely.transform(outline, lambda points: points * [-1, 1])
    assert aligned(mirrored, plan).exterior.hausdorff_distance(plan.exterior) > 2.0


@pytest.mark.parametrize("side", SIDES)
def test_the_medial_side_is_where_it_belongs(made, side):
    x = {}
    for text in svg_root(made).iterfind(f".//{SVG}g[@id='text-{side}']/{SVG}text"):
        x.setdefault(text.text, float(text.get("x")))
    medial_is_right = x["MT"] > x["MF"] and x["AA"] > x["MF"]
    assert medial_is_right == (side == "left")
    # The left template lies on the left.
    assert svg_outline(made, "left").bounds[2] < svg_outline(made, "right").bounds[0]


@pytest.mark.parametrize("side", SIDES)
def test_every_line_of_the_svg_is_in_the_dxf(made, side):
    for kind in ("insole", "foot", "print", "centre-line", "ball-line", "elements", "landmarks"):
        of_svg = svg_paths(made, f"{kind}-{side}")
        of_dxf = dxf_polylines(made, f"{kind.replace('-', '_')}_{side}".upper())
        assert len(of_svg) == len(of_dxf)
        for (a, a_closed), (b, b_closed) in zip(of_svg, of_dxf):
            assert a_closed == b_closed and np.abs(a - b).max() < WRITTEN_MM


@pytest.mark.parametrize("side", SIDES)
def test_corners_lie_close_enough_for_a_smooth_cut(made, side):
    """A polyline turning by an angle t at corners d apart lies within d tan(t/4)/2 of the arc through them."""
    points = np.array(svg_outline(made, side).exterior.coords[:-1])
    steps = np.diff(points, axis=0, append=points[:1])
    lengths = np.linalg.norm(steps, axis=1)
    angle = np.arctan2(steps[:, 1], steps[:, 0])
    turn = np.abs((np.diff(angle, append=angle[:1]) + np.pi) % (2 * np.pi) - np.pi)
    assert (lengths * np.tan(turn / 4) / 2).max() < 0.01


def test_the_size_written_is_the_size_drawn(made):
    for side in SIDES:
        low_x, low_y, high_x, high_y = svg_outline(made, side).bounds
        texts = [text.text for text in svg_root(made).iterfind(f".//{SVG}g[@id='text-{side}']/{SVG}text")]
        assert f"Insole length: {high_y - low_y:.1f} mm" in texts
        assert f"Greatest width: {high_x - low_x:.1f} mm" in texts


def test_check_bars_of_svg_and_dxf_measure_100_mm_both_ways(made):
    for lines in (svg_paths(made, "check-bar"), dxf_polylines(made, "CHECK_BAR")):
        spans = [np.ptp(points, axis=0) for points, _ in lines]
        for axis in (0, 1):
            (bar,) = [span for span in spans if span[axis] > 10.0]
            assert bar[axis] == pytest.approx(BAR_MM, abs=WRITTEN_MM) and bar[1 - axis] == pytest.approx(0.0, abs=WRITTEN_MM)


def test_kinds_of_line_differ_without_colour(made):
    """No two with the same width and dashes in the SVG, and nothing but black in the PDF."""
    kinds = ("insole", "foot", "print", "centre-line", "ball-line", "elements")
    root = svg_root(made)
    groups = [root.find(f".//{SVG}g[@id='{kind}-left']") for kind in kinds]
    looks = {(group.get("stroke-width"), group.get("stroke-dasharray")) for group in groups}
    assert len(looks) == len(kinds)
    assert {drawn["color"] for page in pages(made) for drawn, *_ in page.strokes} == {(0.0, 0.0, 0.0)}


# ---- PDF ---------------------------------------------------------------------------------------------------------------


def test_the_pages_are_a4_to_the_hair_and_ask_not_to_be_scaled(made):
    document = pymupdf.open(file_of(made, "pdf"))
    for page in document:
        kind, box = document.xref_get_key(page.xref, "MediaBox")
        numbers = [float(n) for n in box.strip("[]").split()]
        assert kind == "array" and numbers == pytest.approx([0, 0, 210 / MM_PER_POINT, 297 / MM_PER_POINT], abs=2e-4)
    assert document.xref_get_key(document.pdf_catalog(), "ViewerPreferences/PrintScaling") == ("name", "/None")
    assert document.is_repaired is False


def test_every_page_has_a_check_bar_of_100_mm_both_ways(made):
    for page in pages(made):
        for axis in (0, 1):
            assert len(page.straight(BAR_MM, axis)) == 1
        text = page.page.get_text()
        assert text.count("must measure 100 mm") >= 2 and "Print at 100 %, no scaling" in text.replace("\n", " ")


def test_all_ink_stays_within_the_printable_margin(made):
    for page in pages(made):
        pixels = page.page.get_pixmap(dpi=100, colorspace=pymupdf.csGRAY)
        image = np.frombuffer(pixels.samples, np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]
        rows, columns = np.nonzero(image < 200)
        edge = 9.5 / 25.4 * 100
        assert rows.min() > edge and columns.min() > edge
        assert rows.max() < pixels.height - edge and columns.max() < pixels.width - edge


@pytest.mark.parametrize("side", SIDES)
def test_sheets_joined_by_their_crosses_give_the_whole_outline(made, side):
    sheets = pages_of(made, side)
    assert len(sheets) == (2 if made[1] else 1)
    ring, clip = sheets[0].outline()
    pieces, shown = [ring.intersection(clip)], clip
    if len(sheets) > 1:
        lower, upper = sheets
        assert "sheet A1 of 2" in lower.page.get_text() and "sheet A2 of 2" in upper.page.get_text()
        assert "Sheet A2" in lower.page.get_text() and "lay on sheet A1" in upper.page.get_text()
        below, above = lower.crosses(), upper.crosses()
        assert len(below) == len(above) == 2
        moves = np.array(below) - np.array(above)
        assert np.linalg.norm(moves[0] - moves[1]) < 0.01
        ring, clip = upper.outline()
        move = lambda points: points + moves.mean(axis=0)
        pieces.append(shapely.transform(ring.intersection(clip), move))
        # They overlap by what was asked, and the crosses lie in the middle of it.
        _, low, _, high = shapely.transform(clip, move).intersection(shown).bounds
        assert high - low == pytest.approx(10.0, abs=0.02)
        assert [cross[1] for cross in below] == pytest.approx([(low + high) / 2] * 2, abs=0.02)
        # The outline does go over the seam.
        assert all(piece.length > 30.0 for piece in pieces)
    joined = shapely.union_all(pieces)
    expected = svg_outline(made, side).exterior
    joined = aligned(joined, expected)
    assert joined.hausdorff_distance(expected) < SAME_MM
    assert expected.hausdorff_distance(joined) < SAME_MM


@pytest.mark.parametrize("side", SIDES)
def test_what_is_rendered_is_what_is_drawn(made, side):
    """In a picture of the page, ink lies under every corner of the outline that the page shows."""
    dpi = 300
    for page in pages_of(made, side):
        ring, clip = page.outline()
        pixels = page.page.get_pixmap(dpi=dpi, colorspace=pymupdf.csGRAY)
        image = np.frombuffer(pixels.samples, np.uint8).reshape(pixels.height, pixels.stride)
        points = np.array([p for p in ring.coords if clip.buffer(-0.5).contains(shapely.Point(p))]) / 25.4 * dpi
        rows = (pixels.height - points[:, 1]).astype(int)
        assert len(points) > 50
        assert image[rows, points[:, 0].astype(int)].max() < 100


@pytest.mark.parametrize("side", SIDES)
def test_the_pieces_name_themselves(made, side):
    text = " ".join(page.page.get_text() for page in pages_of(made, side))
    for words in (side.upper(), "Größe 50%", "Size:", "Date: ___", "Width at ball", "Solewright", "This side up"):
        assert words in text, words
