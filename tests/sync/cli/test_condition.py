"""`fallow condition`, as the owner types it."""



FORM = ("form,row,kind,day,person,plot,when,side_m,cover_pct,depth_mm,scrub_pct,water_table_mm\n"
        "w1,1,quadrat,2023-07-03,MT,001,survey,0.5,50,,4,-100\n"
        "w1,2,quadrat,2025-07-03,MT,001,survey,0.5,50,,13,-140\n")


def test_a_block_that_nobody_read_twice_says_what_to_do(small, fallow):
    code, out, _ = fallow("condition", small().folder, "--on", "2026-02-20")
    assert code == 0
    assert "peg some, and read them again" in out
    assert "No work was noted." in out


def test_a_plot_read_twice_for_scrub_and_water_alone_is_told_and_sets_no_crop(
    small, fallow, tmp_path
):
    made = small()
    form = tmp_path / "w.csv"
    form.write_text(FORM)
    assert fallow("take", made.folder, form)[0] == 0
    code, out, _ = fallow("condition", made.folder, "--on", "2026-02-20")
    assert code == 0
    (line,) = [line for line in out.splitlines() if line.startswith("A01")]
    assert line.split()[2:] == ["13", "4→13", "+9.0", "1", "-140", "-100→-140",
                                "-40", "–", "1", "2025-07-03"]
    assert max(map(len, out.splitlines())) <= 100
    _, register, _ = fallow("register", made.folder, "--on", "2026-02-20", "--csv")
    (row,) = [line for line in register.splitlines() if line.startswith("A01")]
    assert "unsurveyed" in row


def test_a_wrong_day_ends_with_2(small, fallow):
    assert fallow("condition", small().folder, "--on", "soon")[0] == 2


def test_work_is_told_with_its_hours_and_once_the_owner_says_his_rate_with_its_cost(
    small, fallow, tmp_path
):
    made = small()
    form = tmp_path / "w.csv"
    form.write_text("form,row,kind,day,person,what,cells,hours\n"
                    "w2,1,work,2025-07-03,MT,scrub_cut,A01,4\n")
    assert fallow("take", made.folder, form)[0] == 0
    _, out, _ = fallow("condition", made.folder, "--on", "2026-02-20")
    assert "No cost: write what an hour costs you as work_per_hour under [costs]" in out
    toml = made.folder / "block.toml"
    toml.write_text(toml.read_text() + '\n[costs]\ncurrency = "NZD"\nwork_per_hour = 40\n')
    _, out, _ = fallow("condition", made.folder, "--on", "2026-02-20")
    (row,) = [line.split() for line in out.splitlines() if line.startswith("scrub cut  2025/26")]
    assert row[-2] == "160"
    assert "An hour is 40 NZD" in out
    assert max(map(len, out.splitlines())) <= 100
