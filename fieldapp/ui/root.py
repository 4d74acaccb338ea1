"""The root of all screens: takes every touch, opens screens, gives the signs.

Rule 1: every contact on the glass goes through one `Press`; no widget hears of a touch, but a box
to type in.
Rule 2: signs come after the act has returned, so never before the record is on disk.
Rule 3: what is shown is asked for anew after each press and twice a second.
"""

from collections.abc import Iterator
from typing import Any

from kivy.clock import Clock
from kivy.metrics import dp
from kivy.properties import BooleanProperty, ObjectProperty
from kivy.uix.boxlayout import BoxLayout
from kivy.uix.floatlayout import FloatLayout
from kivy.uix.textinput import TextInput
from kivy.uix.widget import Widget

from fieldapp.device.buzz import Buzz
from fieldapp.device.journal import JournalError
from fieldapp.phone.alerts import Alerts
from fieldapp.phone.doing import Doing
from fieldapp.phone.keys import Code, Done, Pressed
from fieldapp.phone.phone import Phone
from fieldapp.phone.say import NOTHING, Say, say
from fieldapp.phone.strip import strip
from fieldapp.phone.tracking import Tracking
from fieldapp.phone.tunables import (
    BAG_REARM_MS,
    IDLE_BACK_S,
    INVERT_S,
    REARM_MS,
    REFRESH_S,
    SAID_S,
)
from fieldapp.ui.feedback import Feedback
from fieldapp.ui.kv import load_kv
from fieldapp.ui.look import PLAIN, Look, look_of
from fieldapp.ui.press import Box, Press, Target
from fieldapp.ui.router import SCREENS, STAY, WIDGETS, screen_of
from fieldapp.ui.strip_bar import StripBar
from fieldapp.ui.trouble import TroublePanel

load_kv("root")
#: A held key's bar grows this often. [s]
_FILL_S = 1 / 30
_ADVICE = say("Wipe the screen. Press longer.")


class Root(FloatLayout):
    """All screens of one phone.

    Attributes
    ----------
    flashed : bool
        The whole screen is inverted.
    given : list of str
        The signs given so far, newest last; for those who cannot feel or hear them.
    """

    flashed: bool = BooleanProperty(False)
    look: Look = ObjectProperty(PLAIN, rebind=True)

    def __init__(self, phone: Phone, buzz: Buzz, *, silent: bool = False, **kwargs: Any) -> None:
        super().__init__(look=look_of(phone), **kwargs)
        self.phone = phone
        self.press = Press(guard_always=phone.settings.rain_guard == "on")
        self.doing = Doing(phone.now)
        self.alerts = Alerts(phone)
        self.tracking = Tracking(phone)
        self.given: list[Code] = []
        self._feedback = Feedback(phone, buzz, self._flash, silent=silent)
        self._looks_as = phone.settings, phone.zone
        self._said: tuple[Say, float] = (NOTHING, 0.0)
        self._touched_s = self._opened_s = Clock.time()
        self._typed = ""
        self._pages: dict[type, Widget] = {}
        self._trouble: TroublePanel | None = None
        self.name = ""
        self._column = BoxLayout(orientation="vertical")
        self.add_widget(self._column)
        self._strip: StripBar | None = None
        self.open("start")
        self._beat = [Clock.schedule_interval(self._refresh_now, REFRESH_S),
                      Clock.schedule_interval(self._second, 1.0),
                      Clock.schedule_interval(self._fill, _FILL_S)]

    @property
    def screen(self) -> Any:
        """What the screen that is up shows and forwards presses to."""
        return self._screen

    def open(self, name: str) -> None:
        """Open a screen."""
        self.press.cancel()
        try:
            self.name = screen_of(self.phone, name)
            self._screen = SCREENS[self.name](self.phone)
        except JournalError as error:
            self.doing.cannot_read(error)
        self._opened_s = Clock.time()
        self.refresh()

    def refresh(self) -> None:
        """Show what is so now."""
        if self._looks_as != (self.phone.settings, self.phone.zone):
            self._start_anew()
        try:
            shown = self._screen.shown()
            if shown is None:
                self.open("work")
                return
            self._show_strip()
            self._show_page(shown)
        except JournalError as error:
            self.doing.cannot_read(error)
        self._show_trouble()

    def faces(self) -> Iterator[Any]:
        """Go through the keys that can be pressed now, those of the trouble panel alone if up."""
        over = self._trouble or self._column
        for widget in over.walk(restrict=True):
            key = getattr(widget, "key", None)
            if key is not None and key.name:
                yield widget

    def stop(self) -> None:
        """Write what is gathered and hear no more of the time."""
        for beat in self._beat:
            beat.cancel()
        self.tracking.flush()

    def on_touch_down(self, touch: Any) -> bool:
        """Begin a contact."""
        for widget in self._column.walk(restrict=True):
            if isinstance(widget, TextInput):
                if widget.collide_point(*touch.pos):
                    touch.ud["typed"] = True
                    return bool(super().on_touch_down(touch))
                widget.focus = False
        face = touch.ud["face"] = self._face_at(*touch.pos)
        self._touched_s = Clock.time()
        self.press.down(touch.uid, touch.x / dp(1), touch.y / dp(1),
                        target=None if face is None else self._target(face),
                        now_s=Clock.time())
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """Move a contact."""
        if touch.ud.get("typed"):
            return bool(super().on_touch_move(touch))
        self.press.move(touch.uid, touch.x / dp(1), touch.y / dp(1), now_s=Clock.time())
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """End a contact; if it was a press, do it."""
        if touch.ud.get("typed"):
            return bool(super().on_touch_up(touch))
        now_s = Clock.time()
        pressed = self.press.up(touch.uid, touch.x / dp(1), touch.y / dp(1), now_s=now_s)
        if pressed is not None:
            self._do(pressed)
        elif self.press.rejected() == "rearm":
            self._wait(touch)
        self._let_go(touch.ud.get("face"), pressed is not None)
        if self.press.guard_entered(now_s):
            self._tell(_ADVICE)
        return True

    def back(self) -> None:
        """Do as BACK does; a draft stays."""
        if self._trouble is None and hasattr(self._screen, "back"):
            self._finish(self._screen.back())
        elif self._trouble is None and self.name == "more":
            self._finish(Done("B0", "work"))

    def _do(self, pressed: Pressed) -> None:
        if pressed.name == "try_again":
            self._retry()
        elif pressed.name == "on_paper":
            self.doing.on_paper()
            self.refresh()
        elif pressed.name == "back":
            self.back()
        else:
            self._run(pressed)

    def _run(self, pressed: Pressed) -> None:
        if self.name == "history" and pressed.name == "keep":
            self._screen.typed = self._pages[type(self._screen.shown())].ids.typed.text
        try:
            what, act = self._screen.press(pressed)
        except JournalError as error:
            self.doing.cannot_read(error)
            self._finish(None)
        else:
            self._finish(self.doing.run(what, act))

    def _retry(self) -> None:
        self._finish(self.doing.retry())

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

    def _refresh_now(self, _: float) -> None:
        if self.doing.due():
            self._retry()
        self._hear_typing()
        idle_s = Clock.time() - self._touched_s
        if idle_s >= IDLE_BACK_S and self.name not in STAY:
            self.open("home")
        else:
            self.refresh()

    def _hear_typing(self) -> None:
        """Take typing for a touch, so that nobody who writes a note is sent home."""
        typed = "".join(one.text for one in self._column.walk(restrict=True)
                        if isinstance(one, TextInput))
        if typed != self._typed:
            self._typed, self._touched_s = typed, Clock.time()

    def _second(self, _: float) -> None:
        try:
            self.tracking.take()
        except JournalError as error:
            self.doing.cannot_read(error)
        self._give_due()

    def _fill(self, _: float) -> None:
        now_s = Clock.time()
        if self.press.ticked(now_s) is not None:
            self._give("B0")
        held = self.press.progress(now_s)
        for face in self.faces():
            full = held[1] if held is not None and held[0] == face.key.name else 0.0
            if face.progress != full:
                face.progress = full

    def _let_go(self, meant: Any | None, was_pressed: bool) -> None:
        """Show keys as let go; after the act, as no look may keep a record from the disk."""
        for face in self.faces():
            face.progress = 0.0
        if meant is not None and was_pressed:
            meant.progress = 0.0  # another page may be up by now
            meant.pressed = True
            Clock.schedule_once(lambda _: setattr(meant, "pressed", False), INVERT_S)

    def _wait(self, touch: Any) -> None:
        face = self._face_at(*touch.pos)
        if face is None:
            return
        self._give("B0")
        face.told = self.look.words("wait")
        Clock.schedule_once(lambda _: setattr(face, "told", ""), 4 * INVERT_S)

    def _face_at(self, x: float, y: float) -> Any | None:
        return next((face for face in self.faces() if face.collide_point(x, y)), None)

    def _target(self, face: Any) -> Target:
        key = face.key
        box = Box(face.x / dp(1), face.y / dp(1), face.right / dp(1), face.top / dp(1))
        rearm_ms = BAG_REARM_MS if key.kind == "half" else REARM_MS
        return Target(key.name, box, key.kind, rearm_ms, self._opened_s + key.arms_ms / 1000.0)

    def _show_strip(self) -> None:
        shown = strip(self.phone, rain=self.press.guard_on(Clock.time()))
        said, at_s = self._said
        told = self.look.tell(said) if Clock.time() - at_s < SAID_S else ""
        if self._strip is None:
            self._strip = StripBar(look=self.look, shown=shown, said=told)
            self._column.add_widget(self._strip)
        self._strip.look, self._strip.shown, self._strip.said = self.look, shown, told

    def _show_page(self, shown: Any) -> None:
        kind = type(shown)
        page = self._pages.get(kind)
        if page is None:
            page = self._pages[kind] = WIDGETS[kind](shown=shown, look=self.look)
        page.shown = shown
        if hasattr(page, "sheet"):
            page.sheet = self.phone.sheet
        if page.parent is None:
            for other in [one for one in self._column.children if one is not self._strip]:
                self._column.remove_widget(other)
            self._column.add_widget(page)

    def _show_trouble(self) -> None:
        waiting = self.doing.waiting
        if waiting is None and self._trouble is not None:
            self.remove_widget(self._trouble)
            self._trouble = None
        elif waiting is not None and self._trouble is None:
            self._trouble = TroublePanel(look=self.look, shown=waiting)
            self.add_widget(self._trouble)
        elif waiting is not None and self._trouble is not None:
            self._trouble.shown = waiting

    def _start_anew(self) -> None:
        self._looks_as = self.phone.settings, self.phone.zone
        self.look = look_of(self.phone)
        self._column.clear_widgets()
        self._pages, self._strip = {}, None
        if self._trouble is not None:
            self._trouble.look = self.look

    def _flash(self) -> None:
        self.flashed = True
        Clock.schedule_once(lambda _: setattr(self, "flashed", False), INVERT_S)
