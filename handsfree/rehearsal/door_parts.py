"""A door as a set of parts that can fail, and the consequences of their condition.

A model for testing the search trees, and independent of them: a fault changes parts
(``door_faults``), and the complaints and observations follow from the parts (``door_symptoms``).
These dependencies are common practice, without a published source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True)
class Parts:
    """The parts of a door, each in working order by default."""

    # supply
    building_supply: bool = True
    breaker: bool = True
    power_supply: bool = True
    supply_is_stiff: bool = True
    # facts entered into the controller
    mode: Literal["automatic", "off", "hold open", "exit only"] = "automatic"
    fire_contact_quiet: bool = True
    safety_input_quiet: bool = True
    input_wire_shorted: bool = False
    push_and_go_is_light: bool = False
    # plates
    plate: Literal["good", "stuck in", "bent", "contact broken"] = "good"
    plate_is_wireless: bool = False
    battery: bool = True
    transmitter_taught: bool = True
    plate_wire: bool = True
    common_wire: bool = True
    plate_input: bool = True
    touchless_sees_traffic: bool = False
    plate_in_path: bool = False
    plate_is_far: bool = False
    # controller
    controller: Literal["good", "dead", "starts by itself", "holds open", "overspeeds"] = "good"
    saved: bool = True
    learned: Literal["this leaf", "another leaf", "nothing"] = "this leaf"
    entries_made: bool = True
    set_for: Literal["this door", "a single leaf", "the wrong type"] = "this door"
    hand_right: bool = True
    arm_kind_right: bool = True
    slows_in_time: bool = True
    # motor and arm
    motor: bool = True
    motor_sensor: bool = True
    motor_plugged: bool = True
    motor_plug_right: bool = True
    motors_crossed: bool = False
    arm: Literal["tight", "slips", "loose"] = "tight"
    # leaf
    binds: bool = False
    drags_near_shut: bool = False
    wedge: bool = False
    ajar: bool = False
    wind: Literal["still", "opens", "shuts", "resists", "keeps ajar"] = "still"
    spring: Literal["good", "weak", "broken", "strong", "gives way to wind"] = "good"
    closer: bool = True
    # latch and strike
    latch: Literal["good", "misses", "sticks"] = "good"
    strike: Literal["good", "worn", "wrong voltage"] = "good"
    strike_wire: bool = True
    strike_output: bool = True
    strike_relocks_in_time: bool = True
    latch_presses_on_strike: bool = False
    unlock_delay_enough: bool = True
    # magnetic lock
    magnet: Literal["good", "weak", "stuck"] = "good"
    armature_flat: bool = True
    magnet_supply: bool = True
    magnet_output: bool = True
    release_wire: bool = True
    exit_devices: bool = True
    leaf_loads_magnet: bool = False
    # settings
    opening_speed: Literal["planned", "low", "high"] = "planned"
    closing_speed: Literal["planned", "low", "high"] = "planned"
    latching_speed: Literal["planned", "low", "high"] = "planned"
    opening_force: Literal["planned", "low", "high"] = "planned"
    hold_open: Literal["planned", "long", "short"] = "planned"
    # sensors
    sensor: Literal["good", "sees a thing", "false", "sees wall", "sees frame", "misaimed"] = "good"
    sensor_cable: bool = True
    # pair
    second_linked: bool = True
    second_motor: bool = True
    flush_bolt_free: bool = True
    coordinator: bool = True
    closing_delay_enough: bool = True
    inactive_comes_late: bool = False
    # people and noise
    path_guarded: bool = True
    signs: bool = True
    users_need_more: bool = False
    hinges_quiet: bool = True
    mounting_tight: bool = True
    arm_joints_quiet: bool = True
    gear_quiet: bool = True
    drags_aloud: bool = False

    # consequences of the parts' condition

    @property
    def powered(self) -> bool:
        """True if the operator shows power."""
        return self.building_supply and self.breaker and self.power_supply

    @property
    def stopped(self) -> bool:
        """True if an input keeps the door from moving."""
        return not (self.fire_contact_quiet and self.safety_input_quiet)

    @property
    def called_at_rest(self) -> bool:
        """True if the controller receives an open signal with nobody near."""
        return self.plate == "stuck in" or self.input_wire_shorted or self.touchless_sees_traffic

    @property
    def one_plate_works(self) -> bool:
        """True if the first plate reaches the controller."""
        wired = self.plate_wire and self.plate not in ("bent", "contact broken")
        wireless = self.battery and self.transmitter_taught
        return self.common_wire and (wireless if self.plate_is_wireless else wired)

    @property
    def lock_releases(self) -> bool:
        """True if the lock releases while the operator waits for it."""
        strike = self.strike == "good" and self.strike_wire and self.strike_output
        loaded = self.latch_presses_on_strike or self.leaf_loads_magnet
        return strike and self.magnet_releases and not loaded and self.unlock_delay_enough

    @property
    def magnet_releases(self) -> bool:
        """True if a plate releases a magnetic lock on which nothing pulls."""
        return self.magnet != "stuck" and self.magnet_output and self.release_wire

    @property
    def magnet_holds(self) -> bool:
        """True if a magnetic lock holds the shut door."""
        return self.magnet != "weak" and self.armature_flat and self.magnet_supply

    @property
    def shuts_freely(self) -> bool:
        """True if the leaf can be shut easily by hand all the way."""
        return not (self.binds or self.drags_near_shut)

    @property
    def slow_to_open(self) -> bool:
        """True if the leaf opens more slowly than planned."""
        held = self.binds or self.spring == "strong" or self.wind in ("resists", "keeps ajar")
        return held or self.opening_speed == "low" or not self.supply_is_stiff

    @property
    def slow_to_close(self) -> bool:
        """True if the leaf closes more slowly than planned."""
        held = not self.shuts_freely or self.spring == "weak" or not self.supply_is_stiff
        return held or self.closing_speed == "low"

    @property
    def hits_while_closing(self) -> bool:
        """True if the closing leaf strikes a person who walks through."""
        return self.hold_open == "short" or self.plate_is_far or self.closing_speed == "high"

    @property
    def reopens(self) -> bool:
        """True if the leaf turns back while it closes."""
        return self.drags_near_shut or self.sensor == "sees frame" or self.plate == "stuck in"
