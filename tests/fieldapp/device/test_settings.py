import dataclasses

import pytest

from fieldapp.device.settings import PhoneSettings, load_settings, save_settings
from fieldapp.device.store import keep_one


@pytest.fixture
def path(tmp_path):
    return tmp_path / "settings.json"


def test_the_first_settings_are_the_usual_ones(path):
    assert load_settings(path) == PhoneSettings()
    assert not path.exists()


def test_settings_read_back_as_they_were_saved(path):
    chosen = PhoneSettings(language="es", light="dusk", hand="left", rain_guard="on",
                           large_text=True, sound=False, buzz=False)

    save_settings(path, PhoneSettings())
    save_settings(path, chosen)

    assert load_settings(path) == chosen


@pytest.mark.parametrize("field", [field.name for field in dataclasses.fields(PhoneSettings)])
def test_a_choice_that_does_not_exist_is_refused_and_changes_nothing(path, field):
    save_settings(path, PhoneSettings(language="es"))

    with pytest.raises(ValueError, match=field):
        save_settings(path, dataclasses.replace(PhoneSettings(), **{field: "purple"}))

    assert load_settings(path) == PhoneSettings(language="es")


def test_what_cannot_be_read_is_the_usual(path):
    keep_one(path, {"language": "fr", "sound": 0, "hand": ["left"], "large_text": True, "x": 1})

    assert load_settings(path) == PhoneSettings(large_text=True)

    path.write_bytes(b"rotten")

    assert load_settings(path) == PhoneSettings()
    save_settings(path, PhoneSettings(language="es"))
    assert load_settings(path) == PhoneSettings(language="es")
