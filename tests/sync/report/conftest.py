import importlib.util
import json
from functools import cache
from importlib.resources import files
from pathlib import Path

import jsonschema
import pytest

_HELPER = Path(__file__).with_name("small_block.py")


@pytest.fixture(scope="session")
def made():
    """The helper `small_block.py`: test folders are no packages, so it is loaded by its path."""
    spec = importlib.util.spec_from_file_location("small_block", _HELPER)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def register(made):
    return made.small_register()


@pytest.fixture(scope="session")
def document(made, register):
    return made.document_of(register)


@pytest.fixture(scope="session")
def fits():
    """Say whether a value fits one of the program's own schemas, by the schema's file name."""
    @cache
    def validator(name):
        text = (files("sync.report") / "schemas" / f"{name}.schema.json").read_text("utf-8")
        jsonschema.Draft202012Validator.check_schema(json.loads(text))
        return jsonschema.Draft202012Validator(json.loads(text))

    def check(value, name):
        return validator(name).is_valid(value)

    return check
