"""Feet of bodies drawn at random from the CC0 body model, clean and as a scanner leaves them, in any pose and unit:
what is found is compared with numpy on the clean mesh's vertices, in the frame that was found."""

import statistics

import numpy as np
import pytest

from body_feet import cut_from, posed, scanned, some_body

UNITS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "in": 25.4}
FEET = 16
# Against an independent calculation on the same mesh, in the same frame.
SAME_MM = 0.5
# With noise: the allowed error for the foot of ISO 20685, as restated in a textbook chapter on anthropometry for apparel.
ALLOWED_MM = 2.0
END_MM = 2.0
BALL_MEDIAN_MM, BALL_WORST_MM = 4.0, 8.0

# ANSUR II (Gordon et al. 2014, NATICK/TR-15/007), computed from the public records: mean and SD of each measure over
# foot length, of men and of women.
SURVEYED = {
    "ball_length_mm": ((0.741, 0.015), (0.739, 0.013)),
    "foot_breadth_mm": ((0.376, 0.017), (0.377, 0.018)),
    "heel_breadth_mm": ((0.268, 0.018), (0.273, 0.018)),
    "ball_girth_mm": ((0.930, 0.042), (0.927, 0.042)),
}


@pytest.fixture(scope="module")
def family(solewright, tmp_path_factory):
    """Each foot: its side and unit, the answers for the clean and the noisy scan, the clean vertices in each frame."""
    folder, feet = tmp_path_factory.mktemp("family"), []
    for seed in range(FEET):
        side = ("left", "right")[seed % 2]
        mesh = cut_from(*some_body(seed), side)
        unit = list(UNITS)[seed // 2 % len(UNITS)]
        answers = []
        for scan in (mesh, scanned(mesh, seed)):
            turned, to = posed(scan, seed, UNITS[unit])
            path = folder / "foot.stl"
            turned.export(path)
            answer = solewright("measure", path, "--json").json
            frame = np.array(answer["to_foot_frame"]).reshape(4, 4) @ to
            answers.append((answer, mesh.vertices @ frame[:3, :3].T + frame[:3, 3]))
        feet.append((seed, side, unit, answers))
    return feet


def test_side_and_unit_are_right(family):
    for seed, side, unit, answers in family:
        for answer, _ in answers:
            assert (answer["side"], answer["unit"]) == (side, unit), seed


def sizes(vertices):
    """Foot length, breadth of the forefoot below the ankle, and the foot's low vertices."""
    low = vertices[vertices[:, 2] < 40.0]
    length = np.ptp(low[:, 0])
    return length, np.ptp(low[low[:, 0] > 0.5 * length, 1]), low


def test_length_and_breadth_are_those_of_the_vertices(family):
    for seed, _, _, answers in family:
        for (answer, vertices), allowed in zip(answers, (SAME_MM, ALLOWED_MM)):
            length, breadth, _ = sizes(vertices)
            assert answer["measures"]["foot_length_mm"] == pytest.approx(length, abs=allowed), seed
            assert answer["measures"]["foot_breadth_mm"] == pytest.approx(breadth, abs=allowed), seed


def test_ends_of_the_foot_are_the_extremes_along_its_axis(family):
    for seed, _, _, answers in family:
        for answer, vertices in answers:
            _, _, low = sizes(vertices)
            for name, end in (("pternion", low[low[:, 0].argmin()]), ("akropodion", low[low[:, 0].argmax()])):
                mark = np.array(answer["landmarks"][name]["foot"])
                assert abs(mark[0] - end[0]) < SAME_MM + (answer is not answers[0][0]), (seed, name)
                # A round end is nearly level: how far across the extreme lies is known to some millimetres.
                level = low[np.abs(low[:, 0] - end[0]) < 0.1]
                assert np.linalg.norm(level[:, :2] - mark[:2], axis=1).min() < END_MM, (seed, name)


def head(low, first, last, sign, length):
    """The extreme of the metatarsal head: of the border's outermost vertices the one that is out farthest; where the
    border still goes out at the window's end (a toe), farthest from the straight line through both ends."""
    edges = np.arange(first * length, last * length + 1.0, 1.5)
    tops = []
    for start, end in zip(edges, edges[1:]):
        strip = low[(low[:, 0] >= start) & (low[:, 0] < end)]
        if len(strip):
            tops.append(strip[(strip[:, 1] * sign).argmax()])
    tops = np.array(tops)
    out = tops[:, 1] * sign
    if out.argmax() < 3 or out.argmax() > len(out) - 4:
        out = out - np.interp(tops[:, 0], tops[[0, -1], 0], out[[0, -1]])
    return tops[out.argmax()], out.argmax() != (tops[:, 1] * sign).argmax()


HEADS = (("metatarsale_tibiale", 0.64, 0.80, 1.0), ("metatarsale_fibulare", 0.53, 0.72, -1.0))


def test_ball_landmarks_lie_at_the_extremes_of_the_heads(family):
    for name, first, last, sign in HEADS:
        off = []
        for _, _, _, answers in family:
            for answer, vertices in answers:
                length, _, low = sizes(vertices)
                extreme, _ = head(low, first, last, sign, length)
                off.append(np.linalg.norm(np.array(answer["landmarks"][name]["foot"])[:2] - extreme[:2]))
        assert statistics.median(off) < BALL_MEDIAN_MM, (name, sorted(off))
        assert max(off) < BALL_WORST_MM, (name, sorted(off))


def test_a_big_toe_that_reaches_farther_is_not_the_metatarsal_head(solewright, tmp_path):
    """The big toe moved medially until the most medial point of the forefoot is on it: the landmark stays behind."""
    mesh = cut_from(*some_body(3), "right")
    start, length = mesh.vertices[:, 1].min(), np.ptp(mesh.vertices[mesh.vertices[:, 2] < 40.0, 1])
    share = (mesh.vertices[:, 1] - start) / length
    medial = mesh.vertices[(share > 0.64) & (mesh.vertices[:, 2] < 40.0), 0].min()
    near = np.clip(1.0 - (mesh.vertices[:, 0] - medial) / 40.0, 0.0, 1.0)
    mesh.vertices[:, 0] -= 22.0 * near * np.clip((share - 0.74) / 0.16, 0.0, 1.0)
    toe = mesh.vertices[(share > 0.82) & (mesh.vertices[:, 2] < 40.0), 0].min()
    assert toe < medial - 3.0
    path = tmp_path / "foot.stl"
    mesh.export(path)
    answer = solewright("measure", path, "--json").json
    x = answer["landmarks"]["metatarsale_tibiale"]["foot"][0] / answer["measures"]["foot_length_mm"]
    assert answer["side"] == "right"
    # Ball length over foot length 0.741 ± 0.015 (ANSUR II): five deviations to either side, and not the end at 0.80.
    assert 0.66 < x < 0.79, x


@pytest.mark.parametrize("measure", SURVEYED)
def test_proportions_are_those_of_people(family, measure):
    """The family's mean proportion lies within two standard deviations of the survey's mean."""
    values = [answers[0][0]["measures"] for _, _, _, answers in family]
    mean = statistics.mean(value[measure] / value["foot_length_mm"] for value in values)
    low = min(mean - 2.0 * deviation for mean, deviation in SURVEYED[measure])
    high = max(mean + 2.0 * deviation for mean, deviation in SURVEYED[measure])
    assert low < mean < high, mean
