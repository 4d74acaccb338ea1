from sync.report.table import block_lines, register_table

LINES = """\
Test Mire on 2026-02-20: 8.95 ha open of 8.95 ha in 9 cells
cells: 5 ready, 1 resting, 3 unsurveyed
surveyed 5.95 ha, estimated 8.95 ha, not estimated 0.00 ha
standing crop 49.5 (90 % 27.3 to 80.8) t shed-dry
may take now 0.7 t (6.5 t left in the cells, a permit's cap binds); in the long run 3.7 t a year
growth 0.40 ± 0.20 a year (assumed)
density kg/m³: lawn 11.9 ± 2.8 (1 clips), mound 12.3 ± 2.8 (1 clips)
kg a bag: bale 15.0 ± 5.2 (0 lots), sack 7.0 ± 2.4 (0 lots)
permit TM-1 from 2025-09-01: taken 175 (90 % 92 to 294) of 900 kg shed-dry, left 725
lawn at rest: 51.5 (90 % 32.3 to 70.8) L/m², 6.12 (90 % 2.54 to 9.70) t/ha by density
mound at rest: 36.0 (90 % 27.6 to 44.4) L/m², 4.43 (90 % 2.40 to 6.46) t/ha by density"""
ROWS = """\
cell|class|open ha|state|crop t|90 % range|sust. %|may take kg|left kg|binds|rest ends|next|flags
A02|lawn|1.00|ready *|6.1|2.1–14.0|23.1|1,415|1,415|living_layer|2023-10-20|–|
A03|lawn|1.00|unsurveyed|6.1|1.6–15.8|0.0|0|0|unsurveyed|–|–|
B02|lawn|0.96|resting|4.5|1.1–12.2|0.0|0|0|resting|2029-11-11|–|!"""


def row_of(shown, cell):
    return next(row for row in shown.rows if row[0] == cell)


def test_the_block_is_said_a_line_each(document):
    assert "\n".join(block_lines(document)) == LINES


def test_the_cells_stand_in_a_table(document):
    shown = register_table(document)
    found = [shown.columns, *(row_of(shown, cell) for cell in ("A02", "A03", "B02"))]
    assert "\n".join("|".join(row) for row in found) == ROWS
    assert len(shown.rows) == 9


def test_a_narrow_table_leaves_columns_out_and_keeps_the_rest_in_line(document):
    wide, narrow = register_table(document), register_table(document, narrow=True)
    assert set(narrow.columns) < set(wide.columns)
    assert all(len(row) == len(narrow.columns) for row in narrow.rows)
    for name in ("cell", "state", "left kg", "flags"):
        i, j = wide.columns.index(name), narrow.columns.index(name)
        assert [row[i] for row in wide.rows] == [row[j] for row in narrow.rows]
        assert (i in wide.left) == (j in narrow.left)


def test_a_flag_that_is_ruled_on_is_marked_no_more_and_one_that_changed_is(document):
    def marks(ruling):
        flags = [{**flag, "ruling": ruling} for flag in document["flags"]]
        return row_of(register_table({**document, "flags": flags}), "B02")[-1]

    assert marks(None) == "!"
    assert marks({"says": "agreed", "stands": True}) == ""
    assert marks({"says": "agreed", "stands": False}) == "!"


def test_a_cell_closed_for_a_time_says_when_it_opens(made):
    nesting = made.Feature(made.polygon(made.box(0, 0, 100, 100)), {"why": "nesting"},
                           until=made.date(2026, 3, 1))
    shown = register_table(made.document_of(made.small_register(closures=(nesting,))))
    row = dict(zip(shown.columns, row_of(shown, "A01"), strict=True))
    assert (row["state"], row["crop t"], row["next"]) == ("closed", "–", "2026-03-02")


def test_figures_that_do_not_exist_are_dashes(made):
    lines = block_lines(made.document_of(made.small_register(known=(), permits=())))
    assert "standing crop – t shed-dry" in lines
    assert any("in the long run – t a year" in line for line in lines)
