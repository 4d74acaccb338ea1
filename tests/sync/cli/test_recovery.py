"""`fallow recovery`, as the owner types it."""




def test_it_tells_growth_and_what_would_narrow_it_in_a_hundred_columns(season, fallow, tmp_path):
    made, files = season
    made.take(files)
    code, out, err = fallow("recovery", made.folder, "--on", "2026-03-01")
    assert code == 0, err
    assert "No cell was measured again after a pick yet." in out
    assert "Growth 0.40 ± 0.20 a year" in out
    assert max(map(len, out.splitlines())) <= 100
    there = tmp_path / "recovery.txt"
    assert fallow("recovery", made.folder, "--on", "2026-03-01", "--out", there)[0] == 0
    assert there.read_text() == out.rstrip("\n")


def test_a_wrong_day_and_a_folder_without_a_block_are_told(fallow, tmp_path):
    assert fallow("recovery", tmp_path)[0] == 3
    assert fallow("recovery", tmp_path, "--on", "tomorrow")[0] == 2
