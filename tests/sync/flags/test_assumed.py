"""A class is called assumed until clips have taught its density well enough."""

import math
from datetime import date

import pytest

from sync.block import Feature

DAY = date(2024, 1, 10)
ON = date(2024, 3, 1)


def clips(mire, book, count, *, x=150, grams=75.0, area_m2=0.0625):
    for i in range(count):
        book.note("clip", DAY, clip=f"X-{x}-{i}", cut="plug", area_m2=area_m2, from_mm=0,
                  to_mm=200, dry_g=2 * grams, dried="shed", where=mire.where(x, 150))


def assumed(mire, book, block=None, **tunables):
    return mire.flags(mire.register(book, ON, block, **tunables), "density_assumed")


def test_without_clips_the_prior_alone_speaks_and_says_so(mire):
    (flag,) = assumed(mire, mire.Book()).values()
    assert flag.name == "density_assumed:all:2023"
    assert flag.figures == {"value": 12.0, "sd": pytest.approx(math.sqrt(7.2**2 + 2.4**2)),
                            "clips": 0}
    assert flag.records == ()
    assert "an assumed 12 kg/m³" in flag.why


@pytest.mark.parametrize(("count", "flagged"), [(4, True), (5, False), (6, False)])
def test_five_clips_of_the_block_are_enough_where_they_agree(mire, count, flagged):
    book = mire.Book()
    clips(mire, book, count)
    assert bool(assumed(mire, book)) == flagged


def test_a_figure_looser_than_a_fifth_stays_assumed_however_many_clips(mire):
    book = mire.Book()
    for i in range(6):
        book.note("clip", DAY, clip=f"X-{i}", cut="plug", area_m2=0.0625, from_mm=0, to_mm=20,
                  dry_g=2.0 + 28.0 * (i % 2), dried="shed", where=mire.where(150, 150))
    (flag,) = assumed(mire, book).values()
    assert flag.figures["sd"] / flag.figures["value"] > 0.20
    assert flag.figures["clips"] == 6
    assert flag.records == tuple(f"shed:{i}" for i in range(1, 7))


def test_a_class_that_borrows_is_named_though_another_is_learned(mire):
    block = mire.mire(classes=(Feature(mire.polygon(0, 0, 100, 300), {"ground_class": "mound"}),))
    book = mire.Book()
    clips(mire, book, 6)
    found = assumed(mire, book, block)
    assert list(found) == ["density_assumed:mound:2023"]
    flag = found["density_assumed:mound:2023"]
    assert (flag.figures["clips"], flag.records) == (0, ())
    clips(mire, book, 6, x=50)
    assert assumed(mire, book, block) == {}


def test_a_clip_of_after_the_day_teaches_nothing_yet(mire):
    book = mire.Book()
    clips(mire, book, 4)
    book.note("clip", date(2024, 3, 2), clip="X-late", cut="plug", area_m2=0.0625, from_mm=0,
              to_mm=200, dry_g=150.0, dried="shed", where=mire.where(150, 150))
    assert "4 clips of its own and 4 of the block" in next(iter(assumed(mire, book).values())).why


# growth_assumed


def growing(mire, book, on=date(2026, 2, 9), **tunables):
    return mire.flags(mire.register(book, on, **tunables), "growth_assumed")


def measured_again(mire, cells):
    book = mire.Book()
    for cell in ("A01", "A02", "A03", "B01", "B02", "B03", "C01", "C02", "C03"):
        for _ in range(4):
            book.quadrat(DAY, cell, 60, (90, 110))
    for cell in cells:
        book.bags(date(2024, 2, 9), cell, 400)
        for _ in range(8):
            book.quadrat(date(2026, 2, 9), cell, 50, (90, 100))
    return book


def test_growth_that_nothing_was_measured_of_is_assumed(mire):
    (flag,) = growing(mire, mire.Book()).values()
    assert flag.name == "growth_assumed:block:2025"
    assert (flag.cell, flag.records, flag.how_sure) == (None, (), "sure")
    assert flag.figures == {"value": 0.4, "sd": 0.2}
    assert "on 0 re-measured cells" in flag.why


def test_cells_measured_again_are_named_and_their_word_is_told(mire):
    (flag,) = growing(mire, measured_again(mire, ["B02"])).values()
    assert len(flag.records) == 8
    assert "1 re-measured cell (they alone:" in flag.why


def test_enough_re_measured_cells_earn_the_rate(mire):
    book = measured_again(mire, ["A01", "A02", "A03", "B01", "B02", "B03", "C01", "C02"])
    for i in range(40):
        day = date(2024, 1, 9) if i % 2 else date(2024, 1, 11)
        book.note("clip", day, clip=f"C-{i}", cut="plug", area_m2=0.0625, from_mm=0, to_mm=200,
                  dry_g=150.0, dried="shed", where=mire.where(150, 150))
        book.bags(day, "C03", 0.5, pile=f"P-{i}")
        book.note("batch", date(2024, 6, 1), "O", batch=f"D-{i}", stage="dried", bags=40,
                  dry_kg=280.0, **{"from": [f"P-{i}"]})
    assert growing(mire, book) == {}
    assert growing(mire, measured_again(mire, ["B02"]))  # one cell is not enough
