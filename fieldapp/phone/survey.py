"""P2 WORK for the surveyor: the way to the next plot, and the frame laid there.

Rule 1: once reached, a plot stays reached until it is done or another is chosen, so that nobody
strolls on to nicer moss.
Rule 2: a quadrat half noted is gone on with before another is begun.
"""

import dataclasses

from fieldapp.capture.places import way_to
from fieldapp.capture.quadrat import DRAFT, Quadrat
from fieldapp.capture.walk import Way, is_moving
from fieldapp.ground import Answer, Plot
from fieldapp.phone.footer import MORE, help_key, undo_act, undo_key
from fieldapp.phone.keys import Act, Done, Key, Pressed, opens
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, count, figure, joined, say
from fieldapp.phone.tunables import FIX_WEAK_M
from fieldapp.phone.work import resume_act
from fieldapp.record import Where


@dataclasses.dataclass(frozen=True)
class SurveyShown:
    """What P2 shows the surveyor.

    Attributes
    ----------
    answer : Answer or None
        For the band.
    paused : bool
        Location is off.
    distance, plot, bearing : Say
        How far, to which plot and how many are left, and which way; empty with no plot.
    needle_deg : float or None
        Where the plot lies, from the top of the screen: from north, or while moving from the
        direction of travel. [deg]
    moving : bool
        The needle turns with the way walked; else north is up.
    stop : Say
        STOP, once the plot is reached.
    main : Key
        AT THE PLOT, GO ON WITH, or CONTINUE.
    others : tuple of Key
        OTHER PLOT, BY EYE, CAN'T.
    footer : tuple of Key
        Three.
    """

    answer: Answer | None
    paused: bool
    distance: Say
    plot: Say
    bearing: Say
    needle_deg: float | None
    moving: bool
    stop: Say
    main: Key
    others: tuple[Key, ...]
    footer: tuple[Key, ...]


class Survey:
    """The surveyor's walk, as far as the screen knows it."""

    def __init__(self, phone: Phone) -> None:
        self._phone = phone
        self._fixes: list[Where] = []
        self._reached: Plot | None = None

    def shown(self) -> SurveyShown:
        """Give what P2 shows now."""
        phone, way = self._phone, self._way()
        self._remember(phone.where())
        stop = NOTHING
        if way is not None and self._is_reached(way):
            stop = say("STOP. Frame at your boot, where you stand.")
        travel_deg = self._travel_deg()
        needle_deg = None if way is None else way.bearing_deg
        if needle_deg is not None and travel_deg is not None:
            needle_deg = (needle_deg - travel_deg) % 360.0
        paused = phone.outing.state == "paused"
        return SurveyShown(
            answer=phone.answer(), paused=paused, distance=_distance(way), plot=self._plot(way),
            bearing=_bearing(way), needle_deg=needle_deg, moving=travel_deg is not None, stop=stop,
            main=Key("resume", say("CONTINUE"), tone="main") if paused else self._main(way),
            others=(Key("other_plot", say("OTHER PLOT")), Key("by_eye", say("BY EYE")),
                    Key("cant", say("CAN'T"))),
            footer=(undo_key(phone), MORE, help_key(phone)))

    def press(self, pressed: Pressed) -> tuple[Say, Act]:
        """Give the act of a press."""
        if pressed.name == "undo":
            return undo_act(self._phone, pressed.press_ms)
        if pressed.name == "resume":
            return resume_act(self._phone, pressed.press_ms)
        if pressed.name == "at_plot":
            return self._at_plot()
        if pressed.name == "other_plot":
            return NOTHING, self._other
        if pressed.name == "by_eye":
            return begin(self._phone, None)
        if pressed.name == "cant":
            said = say("No plot is left")
            return NOTHING, (opens("cant") if self._way() else lambda: Done("B0", said=said))
        return NOTHING, opens(pressed.name)

    def _at_plot(self) -> tuple[Say, Act]:
        phone, way = self._phone, self._way()
        if phone.journal.draft(DRAFT) is not None:
            return NOTHING, opens("quadrat")
        if way is None:
            return begin(phone, None)
        if way.distance_m is None or not self._is_reached(way):
            return NOTHING, opens("far")
        return begin(phone, way.plot)

    def _other(self) -> Done:
        if self._phone.walk is not None:
            self._phone.walk.other(self._phone.now(), self._phone.where())
        self._reached = None
        return Done("B0")

    def _way(self) -> Way | None:
        phone = self._phone
        if phone.walk is None or phone.outing.state == "paused":
            return None
        fix = phone.where()
        return phone.walk.next(phone.now(), fix)

    def _is_reached(self, way: Way) -> bool:
        if way.reached:
            self._reached = way.plot
        return self._reached == way.plot

    def _plot(self, way: Way | None) -> Say:
        if way is None:
            return say("No plot is left") if self._phone.walk else say("No sheet: by eye only")
        walk = self._phone.walk
        left = 0 if walk is None else len(walk.left(self._phone.now()))
        again = say("again") if way.plot.again else None
        return joined(say("plot {plot}", plot=way.plot.name), again,
                      count(left, "{n} left", "{n} left"))

    def _main(self, way: Way | None) -> Key:
        draft = self._phone.journal.draft(DRAFT)
        if draft is not None:
            name = draft.get("plot")
            return Key("at_plot", say("GO ON WITH {plot}", plot=name) if name
                       else say("GO ON BY EYE"), tone="main")
        if way is None:
            return Key("by_eye", say("NOTE HERE, BY EYE"), tone="main")
        fix = self._phone.where()
        weak = fix is not None and fix.acc_m is not None and fix.acc_m > FIX_WEAK_M
        sub = say("± {radius}, wait a little", radius=figure("metres", fix.acc_m or 0.0)) \
            if weak and fix is not None else NOTHING
        return Key("at_plot", say("AT THE PLOT"), sub=sub,
                   tone="main" if self._is_reached(way) else "framed")

    def _remember(self, fix: Where | None) -> None:
        if fix is None:
            self._fixes = []
        elif not self._fixes or _apart(self._fixes[-1], fix):
            self._fixes = [*self._fixes[-2:], fix]

    def _travel_deg(self) -> float | None:
        """Give the direction of travel from true north, if it can be believed. [deg]."""
        sheet = self._phone.sheet
        if sheet is None or not is_moving(self._fixes):
            return None
        last = self._fixes[-1]
        return way_to(sheet, self._fixes[0], sheet.map.to_m(last.lat, last.lon))[1]


def _apart(a: Where, b: Where) -> bool:
    return (a.lat, a.lon) != (b.lat, b.lon)


def begin(phone: Phone, plot: Plot | None) -> tuple[Say, Act]:
    """Make the act that begins a quadrat here, at a plot or by eye."""
    now, where, answer = phone.now(), phone.where(), phone.answer()
    ground_class = None if answer is None else answer.ground_class

    def act() -> Done:
        if phone.journal.draft(DRAFT) is None:
            Quadrat.begin(phone.outing, plot, now=now, where=where, ground_class=ground_class)
        return Done("B0", "quadrat")
    return say("plot {plot}", plot=plot.name) if plot else say("by eye"), act


def _distance(way: Way | None) -> Say:
    if way is None:
        return NOTHING
    if way.distance_m is None:
        return say("Position not known")
    return say("{distance}", distance=figure("metres", way.distance_m))


def _bearing(way: Way | None) -> Say:
    if way is None or way.bearing_deg is None or way.compass_deg is None or way.wind is None:
        return NOTHING
    return say("{wind} {bearing}  compass {compass}", wind=figure("wind", way.wind),
               bearing=figure("degrees", way.bearing_deg),
               compass=figure("degrees", way.compass_deg))
