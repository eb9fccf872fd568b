"""The command line keeps its promises to scripts: exit codes, one JSON object, reasons that name the file."""


def test_a_missing_scan_is_bad_input_and_named(solewright, tmp_path):
    missing = tmp_path / "no-such-foot.stl"
    answer = solewright("measure", missing, "--json", ok=False)
    assert answer.exit == 2
    assert "no-such-foot.stl" in answer.json["error"]


def test_a_file_that_is_no_scan_is_bad_input(solewright, tmp_path):
    letter = tmp_path / "letter.stl"
    letter.write_text("Dear workshop, the scan follows tomorrow.\n")
    answer = solewright("measure", letter, "--json", ok=False)
    assert answer.exit == 2
    assert answer.json["error"]


def test_an_unknown_command_is_bad_input_and_named(solewright):
    answer = solewright("knit", ok=False)
    assert answer.exit == 2
    assert "knit" in answer.errors
