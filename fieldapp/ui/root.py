"""The root of all screens: opens them, does what is pressed, gives the signs.

Rule 1: no widget hears of a touch, but a box to type in; all others go to the one `Thumb`.
Rule 2: signs come after the act has returned, so never before the record is on disk.
Rule 3: what is shown is asked for anew after each press and twice a second.
"""

import dataclasses
from collections.abc import Iterator
from typing import Any

from kivy.clock import Clock
from kivy.uix.floatlayout import FloatLayout

from fieldapp.device.buzz import Buzz
from fieldapp.device.journal import JournalError
from fieldapp.phone.alerts import Alerts
from fieldapp.phone.doing import Doing
from fieldapp.phone.keys import Code, Done, Pressed
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, say
from fieldapp.phone.strip import strip
from fieldapp.phone.tracking import Tracking
from fieldapp.phone.trouble import trouble
from fieldapp.phone.tunables import IDLE_BACK_S, INVERT_S, REFRESH_S, SAID_S
from fieldapp.ui.feedback import Feedback
from fieldapp.ui.look import Look, look_of
from fieldapp.ui.press import Press
from fieldapp.ui.router import LINKED, MEETING, SCREENS, STAY, screen_of
from fieldapp.ui.stage import Stage
from fieldapp.ui.thumb import Thumb

#: A held key's bar grows this often. [s]
_FILL_S = 1 / 30
_ADVICE = say("Wipe the screen. Press longer.")


class Root(FloatLayout):
    """All screens of one phone.

    Attributes
    ----------
    name : str
        Of the screen that is up.
    given : list of str
        The signs given so far, newest last; for those who cannot feel or hear them.
    """

    def __init__(self, phone: Phone, buzz: Buzz, *, silent: bool = False, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.phone = phone
        self.press = Press(guard_always=phone.settings.rain_guard == "on")
        self.doing = Doing(phone.now)
        self.alerts = Alerts(phone)
        self.tracking = Tracking(phone)
        self.given: list[Code] = []
        self.stage = Stage(look=look_of(phone))
        self._feedback = Feedback(phone, buzz, self.stage.flash, silent=silent)
        self._looks_as = phone.settings, phone.zone
        self._said: tuple[Say, float] = (NOTHING, 0.0)
        self._typed = ""
        self.add_widget(self.stage)
        self._thumb = Thumb(self.stage, self.press)
        self.open("start")
        self._beat = [Clock.schedule_interval(self._refresh_now, REFRESH_S),
                      Clock.schedule_interval(self._second, 1.0),
                      Clock.schedule_interval(self._fill, _FILL_S)]

    @property
    def screen(self) -> Any:
        """What the screen that is up shows and forwards presses to."""
        return self._screen

    @property
    def look(self) -> Look:
        """In which light and language the screens are."""
        return self.stage.look

    def open(self, name: str) -> None:
        """Open a screen; the one before stays if it cannot be made of a journal out of reach."""
        met = self._met()
        if met is not None:
            self._give(met.code)
            self._tell(met.said)
        try:
            found = screen_of(self.phone, name)
            self._screen = SCREENS[found](self.phone)
            self.name = found
        except JournalError as error:
            self.doing.cannot_read(error)
        self._thumb.begin()
        self.refresh()

    def refresh(self) -> None:
        """Show what is so now."""
        if self._looks_as != (self.phone.settings, self.phone.zone):
            self._looks_as = self.phone.settings, self.phone.zone
            self.stage.turn(look_of(self.phone))
        try:
            shown = self._screen.shown()
            if shown is None:
                self.open("work")
                return
            self._show_strip()
            self.stage.show_page(shown, self.phone.sheet)
        except JournalError as error:
            self.doing.cannot_read(error)
        self.stage.show_trouble(trouble(self.phone, self.doing.waiting))

    def faces(self) -> Iterator[Any]:
        """Go through the keys that can be pressed now."""
        return self.stage.faces()

    def back(self) -> None:
        """Do as BACK does; a draft stays."""
        if self.stage.trouble is None and hasattr(self._screen, "back"):
            self._finish(self._screen.back())

    def pause(self) -> None:
        """Go out of sight: write what is gathered, drop contacts whose end will not be heard."""
        self.press.cancel()
        self.tracking.flush()

    def stop(self) -> None:
        """Write what is gathered and hear no more of the time."""
        for beat in self._beat:
            beat.cancel()
        self.tracking.flush()

    def on_touch_down(self, touch: Any) -> bool:
        """Begin a contact."""
        if self.stage.types_at(*touch.pos):
            touch.ud["typed"] = True
            return bool(super().on_touch_down(touch))
        if not touch.is_mouse_scrolling:  # at a desk: a wheel is no thumb, and no rain
            self._thumb.down(touch)
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Move a contact."""
        if touch.ud.get("typed"):
            return bool(super().on_touch_move(touch))
        self._thumb.move(touch)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """End a contact; if it was a press, do it."""
        if touch.ud.get("typed"):
            return bool(super().on_touch_up(touch))
        pressed = self._thumb.up(touch)
        if pressed is not None:
            self._do(pressed)
        elif self.press.rejected() == "rearm":
            self._wait(touch)
        self._thumb.let_go(touch, was_pressed=pressed is not None)
        if self.press.guard_entered(Clock.time()):
            self._tell(_ADVICE)
        return True

    def _do(self, pressed: Pressed) -> None:
        if pressed.name == "try_again":
            self._finish(self.doing.retry())
        elif pressed.name == "on_paper":
            self.doing.on_paper()
            self.refresh()
        elif pressed.name == "back":
            self.back()
        else:
            self._run(pressed)

    def _run(self, pressed: Pressed) -> None:
        if hasattr(self._screen, "typed"):
            self._screen.typed = self.stage.typed()
        try:
            what, act = self._screen.press(pressed)
        except JournalError as error:
            self.doing.cannot_read(error)
            self._finish(None)
        else:
            self._finish(self.doing.run(what, act))

    def _finish(self, done: Done | None) -> None:
        if done is None:
            self._give_due()
            self.refresh()
            return
        self._give(done.code)
        if done.said != NOTHING:
            self._tell(done.said)
        if done.go:
            self.open(done.go)
        else:
            self.refresh()
        self.press.guard_always = self.phone.settings.rain_guard == "on"

    def _met(self) -> Done | None:
        """Take up what the shed said, if it did; a page that stands on the old sheet is not up."""
        if not self.phone.link.ended:
            return None
        return self.doing.run(say("what the shed said"), self.phone.link.take_up)

    def _give(self, code: Code) -> None:
        if code:
            self.given.append(code)
            self._feedback.give(code)

    def _give_due(self) -> None:
        try:
            self._give(self.alerts.due(waiting=self.doing.waiting is not None))
        except JournalError as error:
            self.doing.cannot_read(error)

    def _tell(self, said: Say) -> None:
        self._said = (said, Clock.time())

    def _wait(self, touch: Any) -> None:
        face = self.stage.face_at(*touch.pos)
        if face is None:
            return
        self._give("B0")
        face.told = self.look.words("wait")
        Clock.schedule_once(lambda _: setattr(face, "told", ""), 4 * INVERT_S)

    def _refresh_now(self, _: float) -> None:
        if self.doing.due():
            self._finish(self.doing.retry())
        met = self._met() if self.name in MEETING else None
        if met is not None:
            self._thumb.touched_s = Clock.time()  # what came is to be read
            self._finish(met if self.name in LINKED else dataclasses.replace(met, go=""))
        self._hear_typing()
        idle_s = Clock.time() - self._thumb.touched_s
        waits = self.name in LINKED and self.phone.link.running
        if idle_s >= IDLE_BACK_S and self.name not in STAY and not waits:
            self.open("home")
        else:
            self.refresh()

    def _hear_typing(self) -> None:
        """Take typing for a touch, so that nobody who writes a note is sent home."""
        typed = self.stage.typed()
        if typed != self._typed:
            self._typed, self._thumb.touched_s = typed, Clock.time()

    def _second(self, _: float) -> None:
        try:
            self.tracking.take()
        except JournalError as error:
            self.doing.cannot_read(error)
        self._give_due()

    def _fill(self, _: float) -> None:
        if self.press.ticked(Clock.time()) is not None:
            self._give("B0")
        self._thumb.fill()

    def _show_strip(self) -> None:
        shown = strip(self.phone, rain=self.press.guard_on(Clock.time()))
        said, at_s = self._said
        self.stage.show_strip(
            shown, self.look.tell(said) if Clock.time() - at_s < SAID_S else "")
