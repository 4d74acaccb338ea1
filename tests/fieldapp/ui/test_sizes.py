"""Keys are as large as a wet glove needs on the smallest screen, and everything adds up there.

Sizes from the published evidence on gloved and cold hands: main keys at least 19 mm both ways,
ordinary ones 12 mm high and 16 mm wide (MIL-STD-1472E, 5.4.3.1.3.3 as quoted; 1 dp = 25.4/160 mm),
neighbours at least 12 mm apart from middle to middle (contact patches up to 17 x 20 mm).
"""

import itertools
import math

import pytest

from fieldapp.ui import sizes

pytestmark = pytest.mark.draws
MM = 25.4 / 160


@pytest.fixture
def shown(bench, make_sheet, spot, started):
    def open_(role, *names, x=70, y=60):
        hand = started(bench.open(make_sheet(), at=spot(x, y)), "MT", role)
        hand.presses(*names)
        hand.wait(0.2)
        return hand
    return open_


def mm(face):
    return face.width * MM, face.height * MM


def test_the_bag_key_is_34_mm_high_and_the_rest_of_the_screen_is_there(shown):
    hand = shown("picker")
    width, height = mm(hand.face("bag"))
    assert height >= 34.2
    assert width >= 52


@pytest.mark.parametrize(("role", "names", "main"), [
    ("surveyor", (), "at_plot"), ("picker", ("help",), "fine"),
    ("picker", ("more", "day", "pause"), "resume"), ("picker", ("more", "day", "pause"), "bag")])
def test_main_keys_are_19_mm_both_ways(shown, role, names, main):
    width, height = mm(shown(role, *names).face(main))
    assert min(width, height) >= 19


@pytest.mark.parametrize(("role", "names"), [
    ("surveyor", ("at_plot",)), ("surveyor", ("at_plot", "value 60")),
    ("picker", ("more", "many")), ("picker", ("more", "weigh", "value 3"))])
def test_pad_keys_are_12_mm_high_and_16_wide(shown, role, names):
    hand = shown(role, *names)
    faces = [one for one in hand.root.faces() if one.key.name.split()[0] in ("value", "digit")]
    assert len(faces) >= 11
    for face in faces:
        assert face.height * MM >= 12.0, face.key.name
        assert face.width * MM >= 16.0, face.key.name


@pytest.mark.parametrize(("role", "names"), [
    ("picker", ()), ("surveyor", ()), ("picker", ("more",)), ("picker", ("map",)),
    ("picker", ("more", "day")), ("picker", ("help",)), ("surveyor", ("at_plot",)),
    ("picker", ("more", "day", "settings"))])
def test_keys_lie_apart_and_keep_the_margins_and_the_footer_its_height(shown, role, names):
    hand = shown(role, *names)
    faces = list(hand.root.faces())
    for face in faces:
        assert face.x >= sizes.MARGIN
        assert face.right <= sizes.SMALLEST[0] - sizes.MARGIN
        assert face.top <= sizes.SMALLEST[1] - sizes.STRIP
        assert min(face.height, face.width) >= sizes.RARE - 0.5, face.key.name
    for a, b in itertools.combinations(faces, 2):
        apart_mm = math.hypot(a.center_x - b.center_x, a.center_y - b.center_y) * MM
        assert apart_mm >= 11.4, (a.key.name, b.key.name)
    footer = [face for face in faces if face.y < sizes.FOOTER / 2]
    assert footer
    for face in footer:
        assert face.height == sizes.FOOTER
        assert face.width >= sizes.KEY_WIDE


def test_back_lies_where_ok_help_lies_and_never_where_undo_does(shown):
    hand = shown("picker")
    undo, help_ = hand.face("undo").pos, hand.face("help").pos
    hand.press("more")
    hand.wait(0.2)
    assert hand.face("back").pos == help_
    assert hand.face("undo").pos == undo


def test_the_left_hand_mirrors_the_footer(shown):
    hand = shown("picker")
    undo, help_ = hand.face("undo").pos, hand.face("help").pos
    hand.phone.change(hand="left")
    hand.root.refresh()
    hand.wait(0.2)
    assert hand.face("undo").pos == help_
    assert hand.face("help").pos == undo
