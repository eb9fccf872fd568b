"""The command line reads one foot in every format another library writes, and measures the same in each.

The foot is a body of our own making: an ellipsoid-like hull with a flat sole, written by trimesh (MIT), which shares no
code with the readers under test. glTF counts in metres, so the foot is exported to it in metres.
"""

import numpy as np
import pytest
import trimesh

# What a coordinate can lose in 32 bits, and in the six decimals of a text: both far below this. Measures are distances
# of a few coordinates, so they agree within it; what is looser would hide a wrong transform.
SAME_MM = 0.01

# A length that no measure of a foot can have by chance.
LENGTH_MM = 251.0


def foot_mesh():
    """A foot-ish solid, mm: length along x, sole at z = 0, rounded toes, a narrower and higher heel, an instep."""
    stations = np.linspace(0.0, 1.0, 121)
    around = np.linspace(0.0, 2.0 * np.pi, 97)[:-1]
    # Half width, height and sideways middle along the foot, from heel to toes.
    half_width = np.interp(stations, [0, 0.03, 0.15, 0.45, 0.72, 0.9, 0.98, 1], [4, 20, 31, 33, 48, 38, 18, 4])
    height = np.interp(stations, [0, 0.05, 0.15, 0.30, 0.45, 0.72, 0.9, 1], [30, 70, 95, 92, 68, 38, 24, 10])
    middle = np.interp(stations, [0, 0.3, 0.72, 1], [0, -2, 2, 12])
    rings = []
    for s, w, h, m in zip(stations, half_width, height, middle):
        y = m + w * np.cos(around)
        # A flat sole below, an arch on one side of the middle, a round back above.
        z = np.where(np.sin(around) < 0, 0.0, h * np.clip(np.sin(around), 0.0, 1.0) ** 0.8)
        arch = 12.0 * np.exp(-(((s - 0.45) / 0.12) ** 2)) * np.clip((y - m) / w, 0, 1) ** 2
        z = np.where(np.sin(around) < 0, arch, np.maximum(z, arch))
        rings.append(np.column_stack([np.full_like(y, s * LENGTH_MM), y, z]))
    n = len(around)
    vertices = np.vstack(rings + [[[0.0, middle[0], 10.0], [LENGTH_MM, middle[-1], 4.0]]])
    faces = []
    for i in range(len(stations) - 1):
        for k in range(n):
            a, b = i * n + k, i * n + (k + 1) % n
            faces += [[a, b, b + n], [a, b + n, a + n]]
    last = (len(stations) - 1) * n
    heel, toe = len(vertices) - 2, len(vertices) - 1
    for k in range(n):
        faces += [[heel, (k + 1) % n, k], [toe, last + k, last + (k + 1) % n]]
    mesh = trimesh.Trimesh(vertices, faces, process=False)
    mesh.fix_normals()
    # Coordinates that 32 bits hold exactly, so that every format can say the same.
    mesh.vertices = mesh.vertices.astype(np.float32).astype(np.float64)
    return mesh


def in_metres(mesh):
    scaled = mesh.copy()
    scaled.apply_scale(0.001)
    return scaled


FORMATS = {
    "binary.stl": lambda mesh: mesh.export(file_type="stl"),
    "text.stl": lambda mesh: mesh.export(file_type="stl_ascii"),
    "scan.obj": lambda mesh: mesh.export(file_type="obj"),
    "binary.ply": lambda mesh: mesh.export(file_type="ply"),
    "text.ply": lambda mesh: mesh.export(file_type="ply", encoding="ascii"),
    "scan.glb": lambda mesh: in_metres(mesh).export(file_type="glb"),
    "embedded.gltf": lambda mesh: embedded_gltf(in_metres(mesh)),
    "scan.3mf": lambda mesh: mesh.export(file_type="3mf"),
}


def embedded_gltf(mesh):
    """trimesh writes a .gltf with its buffers beside it; a file that is handed over alone has them inside."""
    parts = trimesh.exchange.gltf.export_gltf(trimesh.Scene(mesh), embed_buffers=True)
    return parts["model.gltf"]


def as_bytes(data):
    return data.encode() if isinstance(data, str) else data


def values(answer):
    return {name: value for name, value in answer["measures"].items() if isinstance(value, (int, float))}


@pytest.fixture(scope="module")
def expected(solewright, workshop):
    """The measures of the foot read from binary STL."""
    return measured(solewright, workshop, "binary.stl")


def measured(solewright, workshop, name):
    path = workshop / name
    path.write_bytes(as_bytes(FORMATS[name](foot_mesh())))
    return solewright("measure", path, "--json", "--side", "right").json


def test_the_foot_is_measured_at_all(expected):
    found = values(expected)
    assert len(found) > 5
    assert found["foot_length_mm"] == pytest.approx(LENGTH_MM, abs=2.0)


@pytest.mark.parametrize("name", FORMATS)
def test_every_format_gives_the_same_measures(solewright, workshop, expected, name):
    found = measured(solewright, workshop, name)
    assert found["side"] == expected["side"]
    assert values(found).keys() == values(expected).keys()
    for measure, value in values(expected).items():
        assert abs(values(found)[measure] - value) < SAME_MM, (name, measure)


def test_a_gltf_with_its_data_beside_it_says_what_to_do(solewright, workshop):
    parts = trimesh.exchange.gltf.export_gltf(trimesh.Scene(in_metres(foot_mesh())))
    path = workshop / "apart.gltf"
    path.write_bytes(as_bytes(parts["model.gltf"]))
    answer = solewright("measure", path, "--json", ok=False)
    assert answer.exit == 2
    assert "one binary .glb file" in answer.text + answer.errors


def test_words_named_as_a_scan_are_refused_with_their_name(solewright, workshop):
    path = workshop / "words.obj"
    path.write_text("these are words\n")
    answer = solewright("measure", path, "--json", ok=False)
    assert answer.exit == 2
    assert "words.obj" in answer.text + answer.errors
