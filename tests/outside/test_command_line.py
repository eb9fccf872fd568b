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


def sizes(answer, side="right"):
    return dict(answer.json["feet"][side]["outline_sizes"])


def test_a_draft_takes_last_length_and_shoe(solewright, tmp_path, sample_scans):
    scan, out = sample_scans / "ordinary-right.stl", tmp_path / "a.solewright"
    plain = sizes(solewright("draft", scan, "--side", "right", "--out", out, "--json"))
    short = sizes(solewright("draft", scan, "--side", "right", "--out", out, "--length", "three-quarter", "--json"))
    assert 40.0 < plain["Insole length"] - short["Insole length"] < 110.0
    assert abs(plain["Width at heel"] - short["Width at heel"]) < 0.01
    # A last of 20 mm allowance (a preset's own number may not be; this file's is) is a longer insole.
    last = tmp_path / "roomy.last.json"
    last.write_text('{"solewright_last": 1, "name": "Roomy", "note": "", "params": {"toe_allowance_mm": 18.0}}')
    roomy = sizes(solewright("draft", scan, "--side", "right", "--out", out, "--last", last, "--json"))
    assert 2.0 < roomy["Insole length"] - plain["Insole length"] < 8.0
    # An insole as a plain oval, 80 mm wide: the edge stays inside, half a millimetre at least on either side.
    shoe = tmp_path / "shoe.svg"
    shoe.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="100mm" viewBox="0 0 300 100">'
        '<ellipse cx="150" cy="50" rx="140" ry="40"/></svg>'
    )
    narrow = sizes(solewright("draft", scan, "--side", "right", "--out", out, "--shoe", shoe, "--json"))
    assert plain["Width at ball"] > 85.0
    assert narrow["Width at ball"] < 79.1


def test_an_unknown_last_is_named_with_those_there_are(solewright, tmp_path, sample_scans):
    scan, out = sample_scans / "ordinary-right.stl", tmp_path / "a.solewright"
    answer = solewright("draft", scan, "--out", out, "--last", "stilt", "--json", ok=False)
    assert answer.exit == 2
    assert "stilt" in answer.json["error"] and "walking" in answer.json["error"]
    assert not out.exists()
