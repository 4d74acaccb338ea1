"""`fallow report --layer`: other maps than that of the states."""


def test_a_layer_follows_the_map_of_states_with_its_own_key_and_caption(small, fallow):
    folder = small().folder
    code, page, _ = fallow("report", folder, "--on", "2026-02-20", "--layer", "scrub",
                           "--layer", "water")
    assert code == 0
    assert "Map: Scrub, in % of the ground" in page
    assert page.index("Map: Scrub") < page.index("Map: Water table")
    assert "its patterns say nothing of who may pick" in page
    assert "Map: Scrub" not in fallow("report", folder, "--on", "2026-02-20")[1]


def test_no_such_layer_and_one_on_the_landowners_side_are_wrong_usage(small, fallow):
    folder = small().folder
    code, _, err = fallow("report", folder, "--layer", "age")
    assert code == 2
    assert "say one of state, scrub" in " ".join(err.split())
    assert fallow("report", folder, "--land", "--layer", "scrub")[0] == 2
