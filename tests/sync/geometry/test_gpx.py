import contextlib
import itertools
import re
import xml.etree.ElementTree as ET
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import IntakeError
from sync.geometry.gpx import Waypoint, read_gpx, read_line, write_gpx
from sync.geometry.track import Fix

START = datetime(2026, 1, 22, 1, 0, tzinfo=UTC)


def gpx_of(*points, head="", version="1.1"):
    inside = "".join(
        f'<trkpt lat="{lat}" lon="{lon}">{f"<time>{time}</time>" if time else ""}</trkpt>'
        for lat, lon, time in points)
    return (f'<?xml version="1.0" encoding="UTF-8"?>{head}<gpx version="{version}" creator="t" '
            f'xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{inside}</trkseg></trk></gpx>')


def minute(number):
    return f"2026-01-22T01:{number:02d}:00Z"


def kept_minutes(read):
    return [fix.at.minute for track in read.tracks for segment in track for fix in segment]


def test_a_real_file_that_breaks_the_schema_is_read_whole(published, published_file):
    case = published["cerknicko"]
    read = read_gpx(published_file("cerknicko-jezero.gpx"))
    segments = [segment for track in read.tracks for segment in track]

    assert [len(segment) for segment in segments] == case["segments"]
    assert sum(map(len, segments)) == case["points"]
    assert len(read.waypoints) == case["waypoints"]
    assert segments[0][0].at == datetime.fromisoformat(case["first"])
    assert segments[-1][-1].at == datetime.fromisoformat(case["last"])
    assert read.problems == ("track 1, segment 1: empty",)
    assert read.waypoints[1].name == "BACK T TH"
    assert read.waypoints[1].at is None


def test_its_points_are_those_that_another_reader_took_from_it(published_file):
    rows = published_file("gpx_cerknicko_points.csv").decode().split()[1:]
    read = read_gpx(published_file("cerknicko-jezero.gpx"))
    fixes = [fix for track in read.tracks for segment in track for fix in segment]

    assert len(rows) == len(fixes)
    for row, fix in zip(rows, fixes, strict=True):
        _, _, lat, lon, _, time = row.split(",")
        assert (fix.lat, fix.lon) == (float(lat), float(lon))
        assert fix.at == datetime.fromisoformat(time)


def test_a_receiver_that_never_knew_the_year_gives_no_fix_but_still_a_line(published_file):
    text = published_file("Mojstrovka.gpx")
    read = read_gpx(text)

    assert read.tracks == ()
    assert read.problems == (
        "track 1, segment 1: 184 points dated before 2000 dropped (1–184)",
        "no track and no waypoint that can be used")
    assert len(read_line(text)) > 100


def test_an_empty_segment_is_named_and_left_out(published_file):
    read = read_gpx(published_file("track-with-empty-segment.gpx"))

    assert [[len(segment) for segment in track] for track in read.tracks] == [[9]]
    assert read.problems == ("track 1, segment 2: empty",)


def test_each_kind_of_bad_point_is_dropped_counted_and_placed():
    read = read_gpx(gpx_of(
        (1, 1, minute(1)), (1, 1, None), (91, 1, minute(2)), (1, -181, minute(2)),
        ("nan", 1, minute(2)), (1, 1, "1901-12-13T20:45:52Z"), (1, 1, "yesterday"),
        (2, 1, minute(3)), (3, 1, minute(3)), (4, 1, minute(2)), (5, 1, minute(5))))

    assert kept_minutes(read) == [1, 3, 5]
    assert [fix.lat for fix in read.tracks[0][0]] == [1, 2, 5]
    assert set(read.problems) == {
        "track 1, segment 1: 2 points without a time dropped (2, 7)",
        "track 1, segment 1: 3 points out of the range of coordinates dropped (3–5)",
        "track 1, segment 1: 1 point dated before 2000 dropped (6)",
        "track 1, segment 1: 1 point at an instant twice dropped (9)",
        "track 1, segment 1: 1 point with a time that runs backwards dropped (10)"}


def test_one_point_from_the_future_does_not_cost_the_rest_of_the_day():
    read = read_gpx(gpx_of((1, 1, minute(1)), (1, 1, "2033-01-01T00:00:00Z"),
                           *[(1, 1, minute(m)) for m in range(2, 9)]))

    assert kept_minutes(read) == [1, 2, 3, 4, 5, 6, 7, 8]
    assert "1 point with a time that runs backwards dropped (2)" in read.problems[0]


@given(st.lists(st.integers(0, 59), max_size=40))
def test_what_is_kept_rises_and_no_longer_run_could_have_been_kept(minutes):
    points = [(1 + i / 100, 1, minute(m)) for i, m in enumerate(minutes)]
    kept = kept_minutes(read_gpx(gpx_of(*points)))
    longest = [1] * len(minutes)
    for i, m in enumerate(minutes):
        longest[i] += max((longest[j] for j in range(i) if minutes[j] < m), default=0)

    assert all(a < b for a, b in itertools.pairwise(kept))
    assert len(kept) == max(longest, default=0)


def test_many_bad_points_are_named_by_their_first_spans():
    points = [(1, 1, minute(i) if i % 2 else None) for i in range(20)]

    assert read_gpx(gpx_of(*points)).problems == (
        "track 1, segment 1: 10 points without a time dropped (1, 3, 5, 7, 9, …)",)


def test_times_without_a_zone_are_utc_and_others_are_brought_to_it():
    read = read_gpx(gpx_of((1, 1, "2026-01-22T14:00:00+13:00"), (1, 1, "2026-01-22T01:30:00")))

    assert [fix.at for fix in read.tracks[0][0]] == [START, START + timedelta(minutes=30)]


def test_a_waypoint_that_is_nowhere_is_named():
    read = read_gpx('<gpx version="1.1" creator="t"><wpt lat="95" lon="1"><name>x</name></wpt>'
                    '<wpt lat="5" lon="1"/></gpx>')

    assert read.waypoints == (Waypoint("waypoint 2", 5.0, 1.0),)
    assert read.problems == ("waypoint 1: 95.0, 1.0 is no place",)


BILLION_LAUGHS = ('<!DOCTYPE gpx [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>')
FILE_READER = '<!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/hostname">]>'
ELSEWHERE = '<!doctype gpx SYSTEM "http://example.org/gpx.dtd">'


@pytest.mark.parametrize("head", [BILLION_LAUGHS, FILE_READER, ELSEWHERE])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_entities_are_refused_before_anything_is_parsed(head, encoding):
    text = gpx_of((1, 1, minute(1)), head=head)

    with pytest.raises(IntakeError, match="document type"):
        read_gpx(text)
    with pytest.raises(IntakeError, match="document type"):
        read_gpx(text.encode(encoding))


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_bytes_are_read_by_their_mark(encoding):
    assert kept_minutes(read_gpx(gpx_of((1, 1, minute(7))).encode(encoding))) == [7]


def test_bytes_are_read_as_they_declare():
    text = gpx_of((1, 1, minute(7))).replace("UTF-8", "ISO-8859-1").replace(
        "<trk>", '<wpt lat="1" lon="2"><name>Märzmoor</name></wpt><trk>')

    assert read_gpx(text.encode("latin-1")).waypoints[0].name == "Märzmoor"
    with pytest.raises(IntakeError, match=r"byte \d+ is no utf-8"):
        read_gpx(text.replace("ISO-8859-1", "UTF-8").encode("latin-1"))
    with pytest.raises(IntakeError, match="encoding='utf-7' is not read"):
        read_gpx(text.replace("ISO-8859-1", "UTF-7").encode())


@pytest.mark.parametrize("text", [
    "", "lat,lon\n1,2", "<html><body/></html>", "<gpx", "<gpx><trk></gpx>", "PK\x03\x04",
    '<gpx version="1.1"><trk><trkseg><trkpt lat="x" lon="1"/></trkseg></trk></gpx>',
    '<gpx version="1.1"><trk><trkseg><trkpt lon="1"/></trkseg></trk></gpx>',
    '<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1" version="1.1"/>',
])
def test_what_cannot_be_read_is_refused_in_one_line(text):
    with pytest.raises(IntakeError) as refused:
        read_gpx(text)

    assert str(refused.value).startswith("GPX: ")
    assert "\n" not in str(refused.value)


@given(st.data())
def test_a_damaged_file_is_read_or_refused_but_never_breaks_the_program(data):
    text = gpx_of((1, 1, minute(1)), (1.5, 1, minute(2)))
    cut = data.draw(st.integers(0, len(text)))
    length = data.draw(st.integers(0, 30))
    put = data.draw(st.text(alphabet="<>/\"'&=0-9gpxtrk \0;!é", max_size=8))
    damaged = text[:cut] + put + text[cut + length:]

    for form in (damaged, damaged.encode()):
        with contextlib.suppress(IntakeError):
            assert all("\n" not in problem for problem in read_gpx(form).problems)


TRACKS = st.lists(st.lists(st.lists(st.builds(
    Fix, st.integers(0, 10**9).map(lambda ms: START + timedelta(milliseconds=ms)),
    st.floats(-90, 90).map(lambda d: round(d, 9)),
    st.floats(-180, 180).map(lambda d: round(d, 9))), min_size=1, max_size=5,
    unique_by=lambda fix: fix.at), min_size=1, max_size=3), min_size=1, max_size=3)


@given(TRACKS)
def test_what_is_written_is_read_back_without_a_problem(tracks):
    tracks = tuple(tuple(tuple(sorted(s, key=lambda f: f.at)) for s in t) for t in tracks)
    read = read_gpx(write_gpx(tracks, (), creator="Fallow 0"))

    assert read.problems == ()
    assert read.tracks == tracks


def test_small_numbers_are_written_as_decimals():
    text = write_gpx([[[Fix(START, 1e-7, -1e-9)]]], (), creator="Fallow 0")

    assert re.search(r'lat="0?\.0000001" lon="-0?\.000000001"', text)


#: The elements of GPX 1.1 in the order that its schema demands, as far as they are written.
ORDER = {"gpx": ["wpt", "trk"], "trk": ["trkseg"], "trkseg": ["trkpt"], "trkpt": ["time"],
         "wpt": ["time", "name", "cmt", "desc"], "time": [], "name": [], "cmt": [], "desc": []}
ATTRIBUTES = {"gpx": {"version", "creator"}, "wpt": {"lat", "lon"}, "trkpt": {"lat", "lon"}}
NAMESPACE = "{http://www.topografix.com/GPX/1/1}"


def check_order(element):
    name = element.tag.removeprefix(NAMESPACE)
    children = [child.tag.removeprefix(NAMESPACE) for child in element]

    assert element.tag.startswith(NAMESPACE)
    assert name in ORDER
    assert children == sorted(children, key=ORDER[name].index)
    assert {key for key in element.attrib if not key.startswith("{")} == ATTRIBUTES.get(
        name, set())
    for child in element:
        check_order(child)


def test_what_is_written_keeps_the_order_and_the_attributes_of_the_schema():
    text = write_gpx(
        [[[Fix(START, -42.86, 169.69, 5.0), Fix(START + timedelta(milliseconds=1500), -42.8, 1)]]],
        [Waypoint("Bale <Knoll> & \x07 2", -42.86, 169.69, START, "pile"),
         Waypoint("hazard", 1.0, 2.0)], creator='Fallow "0"')
    root = ET.fromstring(text)

    check_order(root)
    assert text.startswith("<?xml")
    assert root.get("version") == "1.1"
    assert root.get("creator") == 'Fallow "0"'
    assert root[0].findtext(f"{NAMESPACE}name") == "Bale <Knoll> & \ufffd 2"
    assert [time.text for time in root.iter(f"{NAMESPACE}time")][1:] == [
        "2026-01-22T01:00:00Z", "2026-01-22T01:00:01.500000Z"]


def test_nothing_to_write_is_still_a_file():
    root = ET.fromstring(write_gpx((), (), creator="Fallow 0"))

    check_order(root)
    assert len(root) == 0
