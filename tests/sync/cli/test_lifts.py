"""`fallow lifts`, as the owner types it: what flew comes back as records and the pile shrinks."""

import json

import pytest

DAY = "2026-01-28"
LIMIT = ("--limit-kg", 620)
HEAD = "form,row,kind,day,person,batch,stage,bags,from,wet_kg\n"


@pytest.fixture
def folder(small):
    made = small()
    bags = "form,row,kind,day,person,bags,cell,pile\n" + "".join(
        f"tally,{i},bag,2026-01-2{i},O,23,B02,Bale Knoll 2\n" for i in (1, 2))
    weighed = HEAD + "".join(
        f"scale,{i},batch,{DAY},O,W-{i},weighed,1,Bale Knoll 2|,{kg}\n"
        for i, kg in enumerate((88, 102, 78, 96, 80, 74, 98, 90, 86, 88), 1))
    made.take({"bags.csv": bags.encode(), "scale.csv": weighed.encode()})
    return made


def test_the_story_s_pile_is_lifted_by_sixes_in_eight(fallow, folder):
    code, out, err = fallow("lifts", folder.folder, "--on", DAY, *LIMIT)

    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= 100
    assert out.startswith("Test Mire, lifts of 28 Jan 2026: 46 bags on 1 pile, 8 lifts, about 4.0")
    assert out.count("[ ]") == 8


def test_what_flew_is_noted_by_the_card_s_label_and_the_pile_shrinks(fallow, folder):
    told = json.loads(fallow("lifts", folder.folder, "--on", DAY, "--json", *LIMIT)[1])
    flown = HEAD + "".join(
        f"flown,{card['lift']},batch,{DAY},O,{card['batch']},lifted,{card['bags']},"
        f"{card['pile']}|,\n" for card in told["cards"][:3])
    folder.take({"flown.csv": flown.encode()})

    after = json.loads(fallow("lifts", folder.folder, "--on", DAY, "--json", *LIMIT)[1])

    assert [one["bags"] for one in after["piles"]] == [46 - 18]
    assert [card["batch"] for card in after["cards"]] == [f"L0128-{n}" for n in range(4, 9)]


def test_the_form_it_fills_in_is_taken_once_somebody_signs_it(fallow, folder, tmp_path):
    form = tmp_path / "flown.csv"
    code, out, err = fallow("lifts", folder.folder, "--on", DAY, "--form", form, *LIMIT)
    assert code == 0
    assert "[ ]" in out
    assert f"written to {form}" in err
    assert fallow("lifts", folder.folder, "--form", form, *LIMIT)[0] == 2

    head, *rows = form.read_text().splitlines()
    (unsigned,) = folder.take({"a.csv": form.read_bytes()})
    assert len(unsigned.aside) == 8
    person = head.split(",").index("person")
    signed = [",".join(cell or ("O" if i == person else "") for i, cell in
                       enumerate(row.split(","))) for row in rows[:5]]
    (taken,) = folder.take({"b.csv": "\n".join((head, *signed, "")).encode()})
    assert (taken.new, taken.aside) == (5, ())
    after = fallow("lifts", folder.folder, "--on", DAY, *LIMIT)[1]
    assert after.startswith("Test Mire, lifts of 28 Jan 2026: 16 bags on 1 pile, 3 lifts")


def test_the_page_has_a_box_a_lift_and_nothing_from_elsewhere(fallow, folder):
    code, out, _ = fallow("lifts", folder.folder, "--on", DAY, "--html", *LIMIT)

    assert code == 0
    assert out.count("☐") == 8
    assert "Bale Knoll 2|" in out
    assert "<script" not in out
    assert "http" not in out
    assert out.index('class="safety"') < out.index("<table")


def test_without_a_limit_it_says_what_to_write_where(fallow, folder):
    code, out, err = fallow("lifts", folder.folder, "--on", DAY)

    assert (code, out) == (2, "")
    assert "block.toml [lifts] hook_limit_kg: missing" in err


def test_without_a_weighing_no_sling_is_given(fallow, folder):
    code, out, err = fallow("lifts", folder.folder, "--on", "2026-01-25", *LIMIT)

    assert code == 1
    assert "weigh ten bags, one by one" in " ".join(out.split())
    assert "no sling for 1 of 1 piles: Bale Knoll 2" in err


def test_one_pile_may_be_asked_for_and_an_unknown_one_is_refused(fallow, folder):
    code, out, _ = fallow("lifts", folder.folder, "--on", DAY, "--pile", "Bale Knoll 2", *LIMIT)
    assert (code, "46 bags on 1 pile" in out) == (0, True)

    code, _, err = fallow("lifts", folder.folder, "--on", DAY, "--pile", "Knoll", *LIMIT)
    assert code == 1
    assert "pile 'Knoll': no bag waits there on 2026-01-28; bags wait on: Bale Knoll 2" in err


@pytest.mark.parametrize("limit", ["0", "-5", "nan", "30000"])
def test_a_limit_that_is_none_is_refused(fallow, folder, limit):
    code, _, err = fallow("lifts", folder.folder, "--limit-kg", limit)

    assert code == 2
    assert "--limit-kg" in err


def test_a_label_with_marks_of_html_is_written_as_it_was_typed(fallow, folder):
    rough = '<b>"Knoll" & 3</b>'
    quoted = rough.replace('"', '""')
    typed = f'form,row,kind,day,person,bags,cell,pile\nrough,1,bag,{DAY},O,5,B02,"{quoted}"\n'
    folder.take({"rough.csv": typed.encode()})

    out = fallow("lifts", folder.folder, "--on", DAY, "--html", *LIMIT)[1]

    assert "<b>" not in out
    assert "&lt;b&gt;&#34;Knoll&#34; &amp; 3&lt;/b&gt;" in out


@pytest.mark.parametrize("label", ["=P1", "+3", "-knoll", "@gate", "a, b", "'twas"])
def test_2026_11_28_a_rough_label_comes_back_from_the_filled_form_as_it_was(
    fallow, folder, tmp_path, label
):
    """The apostrophe that keeps a spreadsheet from running a label named another pile."""
    typed = f'form,row,kind,day,person,bags,cell,pile\nrough,1,bag,{DAY},O,5,B02,"{label}"\n'
    folder.take({"rough.csv": typed.encode()})
    form = tmp_path / "flown.csv"
    words = ("--on", DAY, "--pile", label)
    assert fallow("lifts", folder.folder, *words, "--form", form, *LIMIT)[0] == 0

    (taken,) = folder.take({"flown.csv": form.read_bytes().replace(
        f"{DAY},,".encode(), f"{DAY},O,".encode())})

    assert (taken.new, taken.aside) == (1, ())
    assert "no bag waits there" in fallow("lifts", folder.folder, *words, *LIMIT)[2]
