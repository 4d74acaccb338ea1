"""`fallow report --numbers`: what is printed in the cells of the map."""




def test_scrub_is_printed_where_it_is_asked_for(small, fallow, tmp_path):
    made = small()
    form = tmp_path / "w.csv"
    form.write_text("form,row,kind,day,person,plot,when,side_m,cover_pct,depth_mm,scrub_pct\n"
                    "w1,1,quadrat,2025-07-03,MT,001,survey,0.5,50,,37\n")
    fallow("take", made.folder, form)
    code, page, _ = fallow("report", made.folder, "--on", "2026-02-20", "--numbers", "scrub")
    assert code == 0
    assert ">37 %</text>" in page
    assert "scrub at the latest survey" in page
    assert ">37 %</text>" not in fallow("report", made.folder, "--on", "2026-02-20")[1]


def test_another_number_and_one_on_the_landowners_side_are_wrong_usage(small, fallow):
    folder = small().folder
    code, _, err = fallow("report", folder, "--numbers", "age")
    assert code == 2
    assert "say one of none, kg" in " ".join(err.split())
    assert fallow("report", folder, "--land", "--numbers", "kg")[0] == 2
