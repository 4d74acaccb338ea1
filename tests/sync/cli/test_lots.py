"""`fallow lots`, as the owner types it: what is told is compared as text."""

import csv
import io
import json

import pytest

ON = ("--on", "2026-02-20")
TALLY = """form,row,kind,day,person,bags,cell,pile
tally,1,bag,2025-11-10,MT,30,B02,P1-001
tally,2,bag,2025-11-11,RK,20,A01,P1-001
tally,3,bag,2025-11-12,MT,10,C03,Knoll
tally,4,bag,2025-11-12,MT,2,C03,
"""
BATCHES = """form,row,kind,day,person,batch,stage,bags,from,dry_kg,moist_pct,pure_pct
b,1,batch,2025-11-14,RK,L-1,lifted,48,P1-001,,,
b,2,batch,2025-11-14,RK,L-1,arrived,47,,,,
b,3,batch,2025-12-20,O,D-1,dried,20,L-1,136,12,96
b,4,batch,2025-12-21,O,D-2,dried,20,L-1,131,12.5,94.5
b,5,batch,2025-12-22,O,=D-3,dried,7,Knoll,50,11,97
b,6,batch,2025-12-23,O,D-4,dried,2,nowhere,13,,
"""
TOLD = """\
Test Mire, lots of the season of 2025, on 2026-02-20
62 bags tallied, 57 lifted, 56 arrived, 49 dried in 4 lots, 330 kg shed-dry, 6.7 kg a bag
bags left on piles 5 (Knoll: 3, P1-001: 2); on the way 0; at the shed 7 (L-1: 7 since 2025-11-14);
  short 1 (L-1: 1 since 2025-11-14); on no pile 2
2 more bags were counted than there were (D-4: 2 when dried on 2025-12-23)

"""
LOTS = """\
lot   picked  lifted  arrived   dried  bags  dry kg       kg a bag  moist %  pure %  cells %
D-1   10 Nov  14 Nov   14 Nov  20 Dec    20     136  6.8 (5.8–7.8)     12.0    96.0  B02 60 A01 40
D-2   10 Nov  14 Nov   14 Nov  21 Dec    20     131  6.6 (5.5–7.6)     12.5    94.5  B02 60 A01 40
=D-3  12 Nov       –        –  22 Dec     7      50  7.1 (5.4–8.8)     11.0    97.0  C03
D-4   –            –        –  23 Dec     2      13  6.5 (3.3–9.7)        –       –  ?

ground class  lots          purity %  chance of 95 %       kg a bag
all            3.0  95.8 (92.8–98.9)            0.66  6.8 (6.1–7.5)

"""
BY_PILE = """\
pile        tallied  lifted  arrived  dried  on piles  on way  at shed  short  no pile  surplus
Knoll            10       7        7      7         3       0        0      0        0        0
P1-001           50      48       47     40         2       0        7      1        0        0
on no pile        2       0        0      0         0       0        0      0        2        0
surplus           0       2        2      2         0       0        0      0        0        2
all              62      57       56     49         5       0        7      1        2        2
"""
BY_DAY = """\
day         tallied  lifted  arrived  dried  on piles  on way  at shed  short  no pile  surplus
2025-11-10       30    28.8     28.2     24       1.2       0      4.2    0.6        0        0
2025-11-11       20    19.2     18.8     16       0.8       0      2.8    0.4        0        0
2025-11-12       12       7        7      7         3       0        0      0        2        0
2025-12-23        0       2        2      2         0       0        0      0        0        2
all              62      57       56     49         5       0        7      1        2        2
"""
TRACE = """\
Test Mire, lot D-1 of the season of 2025, on 2026-02-20
20 bags, 136 kg shed-dry, 6.8 (5.8–7.8) kg a bag; moisture 12.0 %, purity 96.0 %
tallied 2025-11-10 to 2025-11-11; lifted 2025-11-14; arrived 2025-11-14; dried 2025-12-20

pile    bags  share %
P1-001    20    100.0

cell  bags  share %
B02     12     60.0
A01      8     40.0

day         bags  share %
2025-11-10    12     60.0
2025-11-11     8     40.0

bags of  bags  share %
MT         12     60.0
RK          8     40.0

Bags of one place cannot be told apart: each press that lay there has its share; 2 records of bags
  are behind it. Records of the lot: form-b:3
"""


@pytest.fixture
def folder(small):
    made = small()
    for name, text in (("tally.csv", TALLY), ("batches.csv", BATCHES)):
        (taken,) = made.take({name: text.encode()})
        assert (taken.refused, taken.aside) == (None, ())
    return made.folder


def test_the_balance_and_the_lots_of_a_season(fallow, folder):
    code, out, err = fallow("lots", folder, *ON)
    assert (code, err) == (0, "")
    assert out.startswith(TOLD + LOTS)
    assert "Of 95 % purity or more: 186 of 317 kg dried in the season, lot by lot; 317 kg" in out
    assert "13 kg have no purity noted" in " ".join(out.split())


def test_a_lot_is_led_back_whole(fallow, folder):
    assert fallow("lots", folder, "D-1", *ON) == (0, TRACE, "")
    code, _, err = fallow("lots", folder, "D-9", *ON)
    assert code == 1
    assert "lot 'D-9': there is none on 2026-02-20; lots of the season of 2025: D-1, D-2" in err


def test_csv_opens_in_a_spreadsheet_and_runs_nothing(fallow, folder):
    rows = list(csv.DictReader(io.StringIO(fallow("lots", folder, "--csv", *ON)[1])))
    assert [row["lot"] for row in rows] == ["D-1", "D-2", "'=D-3", "D-4"]
    assert rows[0]["cells"] == "B02 0.6000; A01 0.4000"
    assert (rows[3]["cells"], rows[3]["unknown_share"], rows[3]["pure_pct"]) == ("", "1.0", "")


def test_json_adds_up_by_season_pile_and_day(fallow, folder):
    told = json.loads(fallow("lots", folder, "--json", *ON)[1])
    places = ("no_pile", "on_piles", "on_the_way", "at_the_shed", "dried", "short_on_the_way",
              "short_at_the_shed")
    for one in (told["balance"], *told["by_pile"], *told["by_day"]):
        assert sum(one[place] for place in places) == pytest.approx(
            one["tallied"] + one["surplus"], abs=0.35)
    assert [one["pile"] for one in told["by_pile"]] == ["Knoll", "P1-001"]
    assert sum(one["tallied"] for one in told["by_day"]) == told["balance"]["tallied"] == 62
    assert told["rows"][0]["persons"] == {"MT": 0.6, "RK": 0.4}
    assert told["dried"]["pure_kg"] == 186


def test_another_purity_day_and_time_are_asked_for(fallow, folder):
    assert "Of 96.5 % purity or more: 50 of 317 kg" in fallow(
        "lots", folder, "--purity", 96.5, *ON)[1]
    early = fallow("lots", folder, "--on", "2025-11-13")[1]
    assert "62 bags tallied, 0 lifted, 0 arrived, 0 dried in 0 lots" in early
    assert "no bag was tallied" in fallow("lots", folder, "--season", 2019, *ON)[1]
    unknown = fallow("lots", folder, "--known-by", "2025-12-01T00:00:00Z", *ON)[1]
    assert "no bag was tallied" in unknown
    assert "by what came in until 2025-12-01T00:00:00.000Z" in unknown


@pytest.mark.parametrize(("by", "table"), [("pile", BY_PILE), ("day", BY_DAY)])
def test_2026_11_28_balances_stand_by_pile_and_by_day_in_a_table(fallow, folder, by, table):
    code, out, err = fallow("lots", folder, "--by", by, *ON)

    assert (code, err) == (0, "")
    assert out.startswith(TOLD + table)
    assert max(map(len, out.splitlines())) <= 100


def test_2026_11_28_without_a_season_the_bags_of_a_later_one_are_pointed_to(fallow, small):
    made = small()
    later = TALLY.splitlines()[0] + "\nlater,1,bag,2026-07-02,MT,3,B02,P9\n"
    made.take({"tally.csv": TALLY.encode(), "batches.csv": BATCHES.encode(),
               "later.csv": later.encode()})
    words = ("lots", made.folder, "--on", "2026-07-31")

    assert "tallied in the season of 2026: 3; --season 2026" in fallow(*words)[2]
    assert fallow(*words, "--season", 2025)[2] == ""


@pytest.mark.parametrize("words", [
    ("--csv", "--json"), ("--purity", 0), ("--purity", 101), ("D-1", "--json"),
    ("--by", "cell"), ("--by", "day", "--json"), ("--by", "pile", "D-1")])
def test_what_cannot_be_meant_is_refused(fallow, folder, words):
    assert fallow("lots", folder, *words)[0] == 2


def test_out_writes_a_file(fallow, folder, tmp_path):
    code, out, err = fallow("lots", folder, "--out", tmp_path / "lots.txt", *ON)
    assert (code, out) == (0, "")
    assert "written to" in err
    assert (tmp_path / "lots.txt").read_text().startswith(TOLD)
