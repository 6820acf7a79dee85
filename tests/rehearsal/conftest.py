"""Doors and listeners that several tests of the rehearsal want."""

from __future__ import annotations

import pytest

from handsfree.procedure.load import load_procedure
from handsfree.rehearsal.door_file import load_door
from handsfree.rehearsal.listening import Listener
from handsfree.rehearsal.spec import DoorSpec
from handsfree.wording import wording


@pytest.fixture(scope="session")
def pair() -> DoorSpec:
    return load_door("corridor-pair")


@pytest.fixture(scope="session")
def single() -> DoorSpec:
    return load_door("clinic-single")


@pytest.fixture(scope="session")
def listener(pair: DoorSpec) -> Listener:
    return Listener(wording(), load_procedure("controller-replaced-pair"), pair.sheet.opening)
