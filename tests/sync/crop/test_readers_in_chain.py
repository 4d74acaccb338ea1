"""Second readings in the chain mend the first reader's cover; the range says what is left."""

from datetime import date

import pytest

from sync.block import Person

DAY, ON = date(2024, 2, 1), date(2024, 3, 1)
DOTS = (Person("SL", "S. L.", "S.L.", "surveyor"),
        Person("RK", "R. K.", "R.K.", "surveyor", counts_dots=True))


def read(made, book, cell, cover, person, **fields):
    """Read the next plot of a cell as somebody."""
    book.quadrat(DAY, cell, cover, (90, 110))
    book.kept[-1]["person"] = person
    book.kept[-1].update(fields)
    return book.kept[-1]["plot"]


def checked(made, *, again=12, people=DOTS, cover=72, dots=60):
    book = made.Book()
    for i in range(again):
        plot = read(made, book, ("A01", "B02", "C03")[i % 3], cover, "SL")
        book.note("quadrat", DAY, "RK", plot=plot, when="survey", again=True, side_m=0.5,
                  cover_pct=dots, depth_mm=[90, 110])
    return book, made.mire(people=people)


def test_dots_counted_again_mend_what_a_reader_saw_too_high(made):
    book, block = checked(made)
    crop = made.register(book, ON, block).crop
    factor = crop.observers.factor_of("SL")
    # 12 pairs weigh 0.0144/(0.0144 + 0.04/12).
    assert factor == pytest.approx(1 + 0.0144 / (0.0144 + 0.04 / 12) * (60 / 72 - 1))
    assert crop.classes["all"].prediction.mean_l_m2 == pytest.approx(72 * factor)


def test_a_second_reading_by_eye_is_only_another_eye(made):
    book, block = checked(made, people=())
    crop = made.register(book, ON, block).crop
    by_dots = made.register(*checked(made)[:1], ON, checked(made)[1]).crop
    assert by_dots.observers.factor_of("SL") < crop.observers.factor_of("SL") < 1.0
    assert crop.observers.factor_of("RK") > 1.0


def test_a_second_reading_is_no_quadrat_of_the_cell(made):
    book, block = checked(made)
    found = made.register(book, ON, block).crop
    assert len(found.cells["A01"].readings) == 4
    assert all(len(r.reading.again) == 1 for r in found.cells["A01"].readings)


def test_readings_after_the_day_mend_nothing_of_it(made):
    book, block = checked(made)
    later = made.Book("p9-aaaa")
    later.note("quadrat", date(2024, 3, 5), "RK", plot="A01-1", when="survey", again=True,
               side_m=0.5, cover_pct=5, depth_mm=[90, 110])
    assert made.register([book, later], ON, block).crop.observers.factor_of("SL") == (
        made.register(book, ON, block).crop.observers.factor_of("SL"))


def test_one_reader_without_pairs_widens_every_cell_and_the_block(made):
    book = made.Book()
    for cell in ("A01", "B02", "C03"):
        read(made, book, cell, 60, "SL")
    known, sure = (made.register(book, ON, observer_sd=sd) for sd in (0.12, 1e-6))
    for cell in ("A01", "C01"):
        wide, narrow = (one.crop.cells[cell].walked.stand for one in (known, sure))
        assert wide.crop_var - narrow.crop_var == pytest.approx((0.12 * wide.crop_kg) ** 2)
    assert known.total.variance - sure.total.variance == pytest.approx(
        (0.12 * known.total.kg) ** 2)


def test_two_readers_err_apart_so_the_block_is_known_better_than_by_one(made):
    def total(other):
        book = made.Book()
        for cell, person in (("A01", "SL"), ("B02", "SL"), ("C02", other), ("C03", other)):
            read(made, book, cell, 60, person)
        return made.register(book, ON).total

    one, two = total("SL"), total("SW")
    assert two.kg == pytest.approx(one.kg)
    assert one.variance - two.variance == pytest.approx(0.5 * (0.12 * one.kg) ** 2)


def test_a_frame_clip_by_the_same_reader_takes_part_of_his_error_back(made):
    book = made.Book()
    read(made, book, "B02", 60, "SL", clip="X-1")
    with_frame, with_plug = made.Book(), made.Book()
    for one, cut in ((with_frame, {"cut": "frame", "area_m2": 0.25, "dry_g": 180.0}),
                     (with_plug, {"cut": "plug", "area_m2": 0.25, "dry_g": 180.0, "to_mm": 60})):
        one.kept = [dict(r) for r in book.kept]
        one.note("clip", DAY, clip="X-1", dried="shed", **cut)
    frame, plain = (made.register(one, ON).total for one in (with_frame, with_plug))
    assert frame.kg == pytest.approx(plain.kg)
    assert frame.variance < plain.variance
