"""Doors and listeners for several tests of the rehearsal."""

from __future__ import annotations

import pytest

from handsfree.language.wording import wording
from handsfree.procedure.loader import load_procedure
from handsfree.rehearsal.door_file import load_door
from handsfree.rehearsal.door_spec import DoorSpec
from handsfree.rehearsal.prompt_comprehension import PromptListener


@pytest.fixture(scope="session")
def pair() -> DoorSpec:
    return load_door("corridor-pair")


@pytest.fixture(scope="session")
def single() -> DoorSpec:
    return load_door("clinic-single")


@pytest.fixture(scope="session")
def listener(pair: DoorSpec) -> PromptListener:
    return PromptListener(wording(), load_procedure("controller-replaced-pair"), pair.sheet.opening)
