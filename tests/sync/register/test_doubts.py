"""Each assumption that the data can deny is denied in words, and only then."""

from datetime import date

import pytest

from sync.register.doubts import doubts_of
from sync.register.why import why_cell

DAY, PICKED, AGAIN, ON = (
    date(2024, 1, 10), date(2024, 2, 9), date(2026, 2, 9), date(2026, 3, 1))


@pytest.fixture
def book(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "C03"):
        for _ in range(2):
            book.quadrat(DAY, cell, 60, (90, 110))
    return book


def doubts(mire, book, on=ON, **tunables):
    return doubts_of(mire.register(book, on, **tunables))


def cut(book, depth, grams, number):
    book.quadrat(DAY, "C01", 60, (depth, depth), clip=f"X-{number}")
    book.note("clip", DAY, clip=f"X-{number}", cut="plug", area_m2=0.0625, from_mm=0, to_mm=60,
              dry_g=grams, dried="shed")


def test_plain_data_raise_no_doubt(mire, book):
    assert doubts(mire, book) == ()
    assert doubts(mire, mire.Book()) == ()


def test_density_that_falls_with_depth_is_said(mire, book):
    for i in range(10):
        cut(book, 60 + 10 * i, 60.0 - 3 * i + (i % 2), i)
    (one,) = doubts(mire, book)
    assert one.about is None
    assert "density falls by" in one.what
    assert "deep cells may hold less than is shown" in one.what
    assert [s for s in why_cell(mire.register(book, ON), "A01") if s.startswith("Doubt: by 10")]


def test_clips_of_one_density_show_no_trend(mire, book):
    for i in range(10):
        cut(book, 60 + 10 * i, 45.0 + (i % 2), i)
    assert doubts(mire, book) == ()


def test_by_eye_quadrats_that_disagree_with_drawn_ones_are_said(mire, book):
    for cell in ("A02", "B01", "C02"):
        for _ in range(2):
            book.quadrat(DAY, cell, 60, (90, 110))
    for cell in ("A01", "A02", "B01", "B02", "C02", "C03"):
        book.quadrat(DAY, cell, 90, (110, 130), drawn=False)
    (one,) = doubts(mire, book)
    assert one.about is None
    assert "quadrats laid by eye and drawn ones of the same 6 cells disagree" in one.what
    assert "0.56 times" in one.what


def test_regrowth_that_does_not_fit_the_years_of_recovery_is_said(mire, book):
    for cell in ("A01", "B02", "C03"):
        book.bags(PICKED, cell, 500)
        for _ in range(8):
            book.quadrat(AGAIN, cell, 75, (120, 130))
    (one,) = doubts(mire, book, growth_prior_cv=0.1, cv_density_block=0.05,
                    cv_density_class=0.02, kappa_prior_cv=0.02, cv_within=0.1, cv_between=0.1)
    assert "3 re-measured cells say" in one.what
    assert "one of the two is wrong" in one.what


def test_one_quadrat_a_cell_leaves_their_spread_assumed(mire):
    book = mire.Book()
    for cell in ("A01", "B02", "C03"):
        book.quadrat(DAY, cell, 60, (90, 110))
    (one,) = doubts(mire, book)
    assert "no cell of all has two quadrats" in one.what


def test_cells_that_differ_wildly_make_the_ranges_doubtful(mire):
    fine = mire.mire(
        grid=mire.Grid(mire.E0, mire.N0, 50.0),
        plots=tuple(plot for c in "ABCDEF" for r in (1, 2)
                    for plot in plots_of(mire, f"{c}{r:02d}", 4)))
    book = mire.Book()
    for i, cell in enumerate(f"{c}{r:02d}" for c in "ABCDEF" for r in range(1, 3)):
        for _ in range(4):
            book.quadrat(DAY, cell, 100 if i == 0 else 5, (150, 160) if i < 2 else (40, 50))
    (one,) = doubts_of(mire.register(book, ON, fine))
    assert "cells of all differ more than the ranges were tried for" in one.what
    assert doubts_of(mire.register(book, ON, fine, wide_between_cv=9.0)) == ()


def plots_of(mire, cell, count):
    x, y = 50 * "ABCDEF".index(cell[0]) + 25.0, 50 * int(cell[1:]) - 25.0
    lat, lon = mire.latlon(x, y)
    return [mire.Plot(f"{cell}-{i}", cell, lat, lon, True, "survey", False, False, False)
            for i in range(1, count + 1)]


def test_a_reader_far_from_the_others_is_named(mire):
    book = mire.Book()
    for i in range(8):
        cell = ("A01", "B02", "C03")[i % 3]
        book.quadrat(DAY, cell, 90, (90, 110))
        book.note("quadrat", DAY, "SL", plot=f"{cell}-{1 + i // 3}", again=True, when="survey",
                  side_m=0.5, cover_pct=45, depth_mm=[90, 110])
    (one,) = doubts(mire, book)
    assert "SW's quadrats had 0.50 times the cover" in one.what
