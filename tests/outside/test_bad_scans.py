"""Files that are no foot: exit 2, one sentence that names the file, the reason and what to do. Never a crash."""

import struct

import numpy as np
import pytest
import trimesh

from body_feet import CUT_MM, _base, foot


def binary(count, body):
    return b"scan".ljust(80, b" ") + struct.pack("<I", count) + body


def nan_scan():
    data = bytearray(foot("man", "right").export(file_type="stl"))
    data[84 + 50 * 100 + 12 : 84 + 50 * 100 + 16] = struct.pack("<f", float("nan"))
    return bytes(data)


def whole_body():
    vertices, faces = _base()[:2]
    return trimesh.Trimesh(100.0 * vertices[:, [0, 2, 1]] * [-1, 1, 1], faces).export(file_type="stl")


def two_feet():
    return trimesh.util.concatenate([foot("man", "left"), foot("man", "right")]).export(file_type="stl")


FILES = {
    "empty": lambda: b"",
    "truncated": lambda: foot("man", "right").export(file_type="stl")[:100_000],
    "huge_count": lambda: binary(4_000_000_000, b"\0" * 500),
    "nan": nan_scan,
    "text": lambda: b"Dear workshop, the scan follows.\n",
    "no_triangles": lambda: binary(0, b""),
    "cube": lambda: trimesh.creation.box([250, 100, 60]).subdivide().subdivide().subdivide().export(file_type="stl"),
    "ball": lambda: trimesh.creation.icosphere(4, 120.0).export(file_type="stl"),
    "whole_body": whole_body,
    "two_feet": two_feet,
    "noise": lambda: np.random.default_rng(1).bytes(50_000),
    "picture": lambda: b"\x89PNG\r\n\x1a\n" + bytes(2000),
}


@pytest.mark.parametrize("name", FILES)
def test_it_is_refused_with_file_reason_and_advice(solewright, tmp_path, name):
    path = tmp_path / f"{name}.stl"
    path.write_bytes(FILES[name]())
    answer = solewright("measure", path, "--json", ok=False)
    assert answer.exit == 2, answer
    error = answer.json["error"]
    assert f"{name}.stl" in error
    assert len(error) > len(str(path)) + 40, f"says too little: {error}"
    assert "panic" not in answer.errors


def test_a_bad_edit_leaves_the_case_as_it_was(solewright, tmp_path):
    scan, case, edits, out = (tmp_path / n for n in ("foot.stl", "a.solewright", "edits.json", "b.solewright"))
    foot("man", "right").export(scan)
    solewright("draft", scan, "--out", case)
    for bad, word in [
        ('[{"set_surface": {"side": "right", "param": "cup_depth_mm", "value": 99}}]', "edit 1"),
        ('[{"paint": {}}]', "edit 1"),
        ("[{", "line 1"),
    ]:
        edits.write_text(bad)
        answer = solewright("apply", case, edits, "--out", out, "--json", ok=False)
        assert answer.exit == 2 and word in answer.json["error"] and not out.exists(), answer
