"""What the band says, in every state of the ground and in both languages."""

import dataclasses
from datetime import UTC, date, datetime
from typing import get_args

import pytest

from fieldapp.ground import Answer, State
from fieldapp.words import Words
from fieldapp.words.ground_words import BandWords, band_words, state_words

EN, ES = Words("en", UTC), Words("es", UTC)
MADE = datetime(2026, 11, 24, 6, tzinfo=UTC)
READY = Answer(cell="C07", state="ready", edge_m=31.2, edge_to="D07", edge_state="resting",
               edge_dir="E", sure=True, acc_m=4.0, age_s=1.0, left_bags=12)
#: Letters that fit one line of the band.
LINE = 34


def said(words, answer, *, picker=False):
    band = band_words(words, answer, picker=picker, sheet_made_at=MADE)
    return band.word, band.second


def of(**changes):
    return dataclasses.replace(READY, **changes)


@pytest.mark.parametrize(("answer", "english", "spanish"), [
    (None, ("NO SHEET", "cannot say if you may pick"), ("SIN HOJA", "no se puede decir")),
    (Answer(cannot_tell=True), ("CAN'T TELL", "no position yet"),
     ("NO SE SABE", "aún sin posición")),
    (of(cannot_tell=True, age_s=130.0), ("CAN'T TELL", "position 2 min old"),
     ("NO SE SABE", "posición de hace 2 min")),
    (of(cell=None, state=None, outside=True, outside_m=40.4, edge_dir="W"),
     ("OUTSIDE", "the block, back 40 m W"), ("FUERA", "del bloque, vuelva 40 m O")),
    (of(cell=None, state=None, outside=True, outside_m=0.0, edge_dir=None),
     ("OUTSIDE", "the block, at its edge"), ("FUERA", "del bloque, junto al borde")),
    (of(near_edge=True, sure=False), ("NEAR EDGE", "C07 ready / D07 resting"),
     ("CERCA DEL BORDE", "C07 lista / D07 en descanso")),
    (of(near_edge=True, edge_to=None, edge_state=None), ("NEAR EDGE", "C07 ready / outside"),
     ("CERCA DEL BORDE", "C07 lista / fuera")),
    (of(), ("READY", "31 m to D07 resting, E"), ("LISTA", "31 m a D07 en descanso, E")),
    (of(edge_to=None, edge_state=None), ("READY", "31 m to the block's edge, E"),
     ("LISTA", "31 m al borde del bloque, E")),
    (of(edge_to=None, edge_state="closed"), ("READY", "31 m to closed, E"),
     ("LISTA", "31 m a cerrada, E")),
    (of(state="resting", rest_ends=date(2028, 3, 14)),
     ("RESTING", "rests until 14 Mar 2028"), ("EN DESCANSO", "descansa hasta 14 mar 2028")),
    (of(state="resting"), ("RESTING", "rests, ask before picking"),
     ("EN DESCANSO", "descansa, pregunte antes")),
    (of(state="unsurveyed"), ("NOT SURVEYED", "ask before picking"),
     ("SIN MEDIR", "pregunte antes")),
    (of(state="closed"), ("CLOSED", "do not pick"), ("CERRADA", "no recoger")),
    (of(state="taken"), ("TAKEN", "nothing left to take here"),
     ("COSECHADA", "aquí no queda cupo")),
])
def test_each_state_has_its_word_and_what_to_do(answer, english, spanish):
    assert (said(EN, answer), said(ES, answer)) == (english, spanish)


def test_a_picker_is_told_what_was_left_as_of_the_sheet():
    assert said(EN, READY, picker=True)[1] == (
        "31 m to D07 resting, E · left here: 12 bags (24 Nov)")
    assert said(ES, of(left_bags=1), picker=True)[1] == (
        "31 m a D07 en descanso, E · queda aquí: 1 saco (24 nov)")


@pytest.mark.parametrize("answer", [
    of(left_bags=None), of(state="taken", left_bags=0), of(near_edge=True),
    of(cannot_tell=True, age_s=99.0)])
def test_nothing_left_is_told_where_nothing_is_known_or_may_be_picked(answer):
    assert "left here" not in said(EN, answer, picker=True)[1]


def test_a_surveyor_is_not_told_of_bags():
    assert "bags" not in said(EN, READY, picker=False)[1]


def test_what_is_left_has_no_day_without_a_sheet():
    band = band_words(EN, READY, picker=True, sheet_made_at=None)
    assert band == BandWords("READY", "31 m to D07 resting, E")


def test_an_old_sheet_is_told_beside_what_matters_first():
    old = of(sheet_old=True, sheet_days=9)
    assert said(EN, old, picker=True)[1] == "31 m to D07 resting, E · Sheet 9 days old"
    assert said(ES, old, picker=True)[1] == "31 m a D07 en descanso, E · Hoja de hace 9 días"
    assert said(EN, Answer(cannot_tell=True, sheet_old=True, sheet_days=8))[1] == (
        "no position yet · Sheet 8 days old")


def test_a_weak_fix_is_told_before_an_old_sheet():
    weak = of(acc_m=28.0, near_edge=True, sheet_old=True, sheet_days=9)
    assert said(EN, weak)[1] == "C07 ready / D07 resting · ± 28 m, wait a little"
    assert said(ES, of(acc_m=28.0))[1] == "31 m a D07 en descanso, E · ± 28 m, espere un poco"


def test_a_fix_of_15_m_is_not_weak():
    assert "±" not in said(EN, of(acc_m=15.0))[1]


def test_an_old_fix_is_not_told_as_weak():
    assert said(EN, of(cannot_tell=True, age_s=130.0, acc_m=28.0))[1] == "position 2 min old"


@pytest.mark.parametrize("state", [*get_args(State), None])
def test_each_state_has_a_word_within_a_sentence(state):
    assert state_words(EN, state) != state_words(ES, state)
    assert state_words(EN, state).islower()


@pytest.mark.parametrize("words", [EN, ES], ids=["en", "es"])
@pytest.mark.parametrize("state", get_args(State))
@pytest.mark.parametrize("beyond", [*get_args(State), None])
@pytest.mark.parametrize("near", [True, False], ids=["near", "sure"])
@pytest.mark.parametrize("beside", [
    {}, {"acc_m": 120.0}, {"sheet_old": True, "sheet_days": 120}, {"left_bags": 112}],
    ids=["plain", "weak", "old", "left"])
def test_the_second_line_takes_two_lines_at_most(words, state, beyond, near, beside):
    answer = of(state=state, rest_ends=date(2028, 12, 14), near_edge=near, edge_m=999.0,
                edge_state=beyond, edge_to=None if beyond is None else "D17", edge_dir="NE",
                **beside)
    if near and beyond == state:
        return
    parts = said(words, answer, picker=True)[1].split(" · ")
    assert len(parts) <= 2
    assert all(0 < len(part) <= LINE for part in parts)
