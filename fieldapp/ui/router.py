"""Which object and which widget stand behind each screen's name."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from fieldapp.phone.choices import Cant, Far
from fieldapp.phone.clip import Clip
from fieldapp.phone.day import Day, DayShown, Finish
from fieldapp.phone.hand_over import HandOver
from fieldapp.phone.help import Help, HelpShown
from fieldapp.phone.history_page import History, HistoryShown, NoteShown
from fieldapp.phone.keys import Screen
from fieldapp.phone.many import Many
from fieldapp.phone.map_panel import MapPanel, MapPanelShown
from fieldapp.phone.more import More, MoreShown
from fieldapp.phone.my_data import MyData
from fieldapp.phone.pages import ChoiceShown, PadShown
from fieldapp.phone.pair_code import PairCode
from fieldapp.phone.phone import Phone
from fieldapp.phone.quadrat import CheckShown, QuadratScreen
from fieldapp.phone.settings_page import SettingsPage, TryPress
from fieldapp.phone.start import Start, StartShown
from fieldapp.phone.survey import Survey, SurveyShown
from fieldapp.phone.weigh import Weigh
from fieldapp.phone.work import Work, WorkShown
from fieldapp.phone.work_done import WorkDone
from fieldapp.ui.choice import ChoicePage
from fieldapp.ui.day import DayPage
from fieldapp.ui.help import HelpPage
from fieldapp.ui.history import HistoryPage
from fieldapp.ui.map_panel import MapPage
from fieldapp.ui.more import MorePage
from fieldapp.ui.note import NotePage
from fieldapp.ui.pad import PadPage
from fieldapp.ui.quadrat import CheckPage
from fieldapp.ui.start import StartPage
from fieldapp.ui.work_picker import PickerPage
from fieldapp.ui.work_surveyor import SurveyorPage
from fieldapp.words.told import glossary, privacy

#: Makes what a screen shows. `home`, `work` and `start` are settled by `screen_of`.
SCREENS: Mapping[str, Callable[[Phone], Screen]] = MappingProxyType({
    "start": Start, "picker": Work, "surveyor": Survey, "map": MapPanel,
    "quadrat": QuadratScreen, "more": More, "many": Many, "work_done": WorkDone, "weigh": Weigh,
    "clip": Clip, "cant": Cant, "far": Far, "help": Help, "day": Day, "finish": Finish,
    "history": History, "my_data": MyData, "hand_over": HandOver, "pair_code": PairCode,
    "settings": SettingsPage, "try": TryPress, "glossary": glossary, "privacy": privacy})
#: The widget that shows a kind of value.
WIDGETS: Mapping[type, type] = MappingProxyType({
    StartShown: StartPage, WorkShown: PickerPage, SurveyShown: SurveyorPage,
    MapPanelShown: MapPage, PadShown: PadPage, CheckShown: CheckPage, MoreShown: MorePage,
    ChoiceShown: ChoicePage, HelpShown: HelpPage, DayShown: DayPage, HistoryShown: HistoryPage,
    NoteShown: NotePage})
#: Screens that stay, however long nobody touches them: the work, and what is half noted.
STAY = ("start", "picker", "surveyor", "quadrat", "help", "map", "weigh", "clip", "work_done",
        "pair_code")
#: Screens that wait for what the shed says, however long it takes.
LINKED = ("hand_over", "pair_code")
#: Screens that take it up at once; on others it is taken up as the next one is opened.
MEETING = (*LINKED, "start", "day")


def screen_of(phone: Phone, name: str) -> str:
    """Settle a screen's name: home and work are the open outing's, else START."""
    if name not in ("home", "work"):
        return name
    return phone.outing.role or "start"
