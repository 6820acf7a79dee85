"""A door as parts that can fail: what each failed part makes the door do, and what can be seen.

A model for the search trees to be tried on. It knows nothing of the trees: a fault changes parts,
and both the complaints and every observation follow from the parts. What follows from what is
common practice, without a published source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal


@dataclass(frozen=True)
class Parts:
    """The parts of a door, each as it is when the door is well."""

    # supply
    building_supply: bool = True
    breaker: bool = True
    power_supply: bool = True
    supply_is_stiff: bool = True
    # what the controller is told
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

    # what follows from the parts

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
        """True if the controller sees an open signal with nobody near."""
        return self.plate == "stuck in" or self.input_wire_shorted or self.touchless_sees_traffic

    @property
    def one_plate_works(self) -> bool:
        """True if the first plate reaches the controller."""
        wired = self.plate_wire and self.plate not in ("bent", "contact broken")
        wireless = self.battery and self.transmitter_taught
        return self.common_wire and (wireless if self.plate_is_wireless else wired)

    @property
    def lock_releases(self) -> bool:
        """True if the lock lets go while the operator waits for it."""
        strike = self.strike == "good" and self.strike_wire and self.strike_output
        return strike and not self.latch_presses_on_strike and self.unlock_delay_enough

    @property
    def shuts_freely(self) -> bool:
        """True if a hand shuts the leaf easily all the way."""
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


FAULTS: dict[str, dict[str, Any]] = {
    # supply
    "breaker-off": {"breaker": False},
    "no-supply": {"building_supply": False},
    "power-supply-dead": {"power_supply": False},
    "weak-supply": {"supply_is_stiff": False},
    # told
    "switched-off": {"mode": "off"},
    "switched-to-hold-open": {"mode": "hold open"},
    "mode-one-way": {"mode": "exit only"},
    "fire-alarm-active": {"fire_contact_quiet": False},
    "safety-input-active": {"safety_input_quiet": False},
    "wire-shorted": {"input_wire_shorted": True},
    "push-and-go-too-light": {"push_and_go_is_light": True, "wind": "opens"},
    # plates
    "plate-sticks": {"plate": "stuck in"},
    "plate-stuck": {"plate": "bent"},
    "contact-broken": {"plate": "contact broken"},
    "wire-broken": {"plate_wire": False},
    "plate-wiring": {"common_wire": False},
    "battery-empty": {"plate_is_wireless": True, "battery": False},
    "transmitter-not-taught": {"plate_is_wireless": True, "transmitter_taught": False},
    "input-dead": {"plate_input": False},
    "switch-sees-traffic": {"touchless_sees_traffic": True},
    "plate-in-path": {"plate_in_path": True},
    "plate-too-far": {"plate_is_far": True},
    # controller
    "controller-dead": {"controller": "dead"},
    "controller-starts-it": {"controller": "starts by itself"},
    "controller-holds": {"controller": "holds open"},
    "controller-overspeeds": {"controller": "overspeeds"},
    "settings-not-saved": {"saved": False, "opening_speed": "high"},
    "learned-other-leaf": {"learned": "another leaf"},
    "learn-lost": {"learned": "nothing"},
    "hands-not-entered": {"entries_made": False},
    "set-as-single": {"set_for": "a single leaf"},
    "door-type-wrong": {"set_for": "the wrong type"},
    "hand-of-motor-wrong": {"hand_right": False},
    "arm-kind-wrong": {"arm_kind_right": False},
    "latch-angle-learned": {"slows_in_time": False},
    # motor and arm
    "motor-dead": {"motor": False, "second_motor": False},
    "motor-sensor-faulty": {"motor_sensor": False},
    "motor-unplugged": {"motor_plugged": False},
    "motor-plug-reversed": {"motor_plug_right": False},
    "motors-crossed": {"motors_crossed": True},
    "arm-slips": {"arm": "slips"},
    "arm-loose": {"arm": "loose"},
    # leaf
    "leaf-binds": {"binds": True},
    "leaf-drags-shutting": {"drags_near_shut": True},
    "held-by-hand": {"wedge": True},
    "leaf-ajar": {"ajar": True},
    "wind-opens-it": {"wind": "opens"},
    "wind-shuts-it": {"wind": "shuts"},
    "wind-stops-it": {"wind": "resists"},
    "air-pressure": {"wind": "keeps ajar"},
    "spring-weak": {"spring": "weak"},
    "spring-broken": {"spring": "broken"},
    "spring-too-strong": {"spring": "strong"},
    "spring-does-not-hold": {"spring": "gives way to wind", "wind": "opens"},
    "closer-lets-go": {"closer": False},
    # latch and strike
    "latch-misses": {"latch": "misses"},
    "bolt-sticks": {"latch": "sticks"},
    "strike-worn": {"strike": "worn"},
    "strike-wrong-voltage": {"strike": "wrong voltage"},
    "strike-wire": {"strike_wire": False},
    "strike-output-not-set": {"strike_output": False},
    "strike-stays-released": {"strike_relocks_in_time": False},
    "latch-presses": {"latch_presses_on_strike": True},
    "unlock-delay-too-short": {"unlock_delay_enough": False},
    # settings
    "opening-speed-too-low": {"opening_speed": "low"},
    "opening-speed-too-high": {"opening_speed": "high"},
    "closing-speed-too-low": {"closing_speed": "low"},
    "closing-speed-too-high": {"closing_speed": "high"},
    "latching-speed-too-low": {"latching_speed": "low"},
    "latching-speed-too-high": {"latching_speed": "high"},
    "speeds-set-low": {"opening_speed": "low", "closing_speed": "low"},
    "opening-force-too-low": {"opening_force": "low"},
    "opening-force-too-high": {"opening_force": "high"},
    "hold-time-too-long": {"hold_open": "long"},
    "hold-time-too-short": {"hold_open": "short"},
    # sensors
    "sensor-sees-something": {"sensor": "sees a thing"},
    "sensor-faulty": {"sensor": "false"},
    "sensor-sees-wall": {"sensor": "sees wall"},
    "sensor-sees-frame": {"sensor": "sees frame"},
    "sensor-misaimed": {"sensor": "misaimed"},
    "sensor-cable": {"sensor_cable": False},
    # pair
    "link-cable-off": {"second_linked": False},
    "flush-bolt-holds": {"flush_bolt_free": False},
    "coordinator-worn": {"coordinator": False},
    "closing-delay-too-short": {"closing_delay_enough": False},
    "wind-holds-inactive": {"inactive_comes_late": True},
    "inactive-leaf-not-shut": {"inactive_comes_late": True},
    # people and noise
    "path-not-guarded": {"path_guarded": False},
    "signs-missing": {"signs": False},
    "other-users": {"users_need_more": True},
    "hinges-dry": {"hinges_quiet": False},
    "leaf-drags": {"drags_aloud": True},
    "mounting-loose": {"mounting_tight": False},
    "arm-dry": {"arm_joints_quiet": False},
    "gear-worn": {"gear_quiet": False},
}
"""Changes that each fault makes to the parts."""


def with_fault(fault: str) -> Parts:
    """A door with one fault. Raises KeyError when there is no such fault."""
    return replace(Parts(), **FAULTS[fault])


def repaired(parts: Parts, faults: tuple[str, ...]) -> Parts:
    """The door with everything put right that these faults would have changed."""
    well = Parts()
    names = {name for fault in faults for name in FAULTS.get(fault, ())}
    return replace(parts, **{name: getattr(well, name) for name in names})


def _way(opens: bool, closes: bool) -> str:
    return "both" if opens and closes else "opens" if opens else "closes"


COMPLAINTS: dict[str, Callable[[Parts], bool]] = {
    "does-not-open": lambda p: (
        not p.powered
        or p.mode == "off"
        or p.stopped
        or p.controller == "dead"
        or not p.one_plate_works
        or not p.lock_releases
        or p.binds
        or not p.motor
        or p.arm == "slips"
    ),
    "opens-by-itself": lambda p: (
        p.called_at_rest
        or p.controller == "starts by itself"
        or (p.wind == "opens" and (p.push_and_go_is_light or p.spring == "gives way to wind"))
        or p.latch == "misses"
    ),
    "opens-too-slow": lambda p: p.slow_to_open or p.slow_to_close,
    "opens-too-fast": lambda p: (
        p.opening_speed == "high"
        or p.learned == "another leaf"
        or p.wind == "opens"
        or p.controller == "overspeeds"
    ),
    "slams": lambda p: (
        p.closing_speed == "high"
        or p.latching_speed == "high"
        or not p.closer
        or p.arm == "loose"
        or p.wind == "shuts"
        or not p.slows_in_time
    ),
    "stays-open": lambda p: (
        p.wedge
        or p.mode == "hold open"
        or p.plate == "stuck in"
        or p.input_wire_shorted
        or p.sensor in ("sees a thing", "false")
        or p.hold_open == "long"
        or p.drags_near_shut
        or p.spring == "broken"
        or p.controller == "holds open"
    ),
    "will-not-latch": lambda p: (
        p.latch != "good"
        or not p.strike_relocks_in_time
        or p.wind == "keeps ajar"
        or p.latching_speed == "low"
        or p.inactive_comes_late
        or p.spring == "weak"
    ),
    "reverses": lambda p: (
        p.binds
        or p.reopens
        or p.sensor == "sees wall"
        or not p.sensor_cable
        or p.wind == "resists"
        or p.opening_force == "low"
        or p.learned == "another leaf"
        or not p.motor_sensor
    ),
    "strike-hangs": lambda p: not p.lock_releases,
    "leaf-does-not-follow": lambda p: (
        p.binds
        or not p.flush_bolt_free
        or p.set_for == "a single leaf"
        or not p.second_linked
        or not p.second_motor
        or not p.hand_right
        or p.arm == "slips"
    ),
    "wrong-order": lambda p: (
        not p.coordinator
        or p.motors_crossed
        or not p.closing_delay_enough
        or p.drags_near_shut
        or p.inactive_comes_late
    ),
    "hits-people": lambda p: (
        p.plate_in_path
        or not p.path_guarded
        or p.opening_speed == "high"
        or p.opening_force == "high"
        or p.sensor == "misaimed"
        or not p.signs
        or p.hits_while_closing
        or p.users_need_more
    ),
    "noise": lambda p: (
        not (
            p.hinges_quiet
            and p.mounting_tight
            and p.arm_joints_quiet
            and p.gear_quiet
            and not p.drags_aloud
        )
    ),
    "one-plate-only": lambda p: (
        (not p.one_plate_works and p.common_wire) or p.mode == "exit only" or not p.plate_input
    ),
    "stops-after-power-cut": lambda p: (
        not p.powered
        or p.mode == "off"
        or not p.fire_contact_quiet
        or not p.saved
        or p.learned == "nothing"
        or not p.common_wire
        or p.controller == "dead"
    ),
    "learn-does-not-start": lambda p: (
        not p.powered
        or p.mode == "off"
        or p.stopped
        or p.plate == "stuck in"
        or p.ajar
        or not p.entries_made
        or not p.motor_plugged
        or p.controller == "dead"
    ),
    "learn-stops-early": lambda p: (
        p.wedge
        or p.binds
        or p.arm != "tight"
        or not p.lock_releases
        or p.wind == "resists"
        or p.opening_force == "low"
        or not p.motor_sensor
    ),
    "learn-wrong-way": lambda p: (
        p.motors_crossed or not p.hand_right or not p.arm_kind_right or not p.motor_plug_right
    ),
    "learn-ends-in-error": lambda p: (
        not p.hand_right
        or p.wedge
        or not p.shuts_freely
        or p.arm != "tight"
        or not p.motor_sensor
        or p.set_for == "the wrong type"
        or not p.supply_is_stiff
        or p.controller == "dead"
    ),
}
"""Test of each complaint, by the name of its search tree: true if the door gives reason for it."""


SEEN: dict[str, Callable[[Parts], bool | str]] = {
    "power_shown": lambda p: p.powered,
    "breaker_on": lambda p: p.breaker,
    "line_voltage": lambda p: p.building_supply,
    "voltage_holds": lambda p: p.supply_is_stiff,
    "switch_automatic": lambda p: p.mode not in ("off", "hold open"),
    "mode_allows_it": lambda p: p.mode == "automatic",
    "no_stop_signal": lambda p: not p.stopped,
    "fire_alarm_quiet": lambda p: p.fire_contact_quiet,
    "no_open_signal": lambda p: not p.called_at_rest,
    "touchless_quiet": lambda p: not p.touchless_sees_traffic,
    "plates_spring_back": lambda p: p.plate != "stuck in",
    "plate_signal": lambda p: p.one_plate_works and p.controller != "dead",
    "other_plate_signal": lambda p: p.common_wire and p.controller != "dead",
    "opens_from_terminals": lambda p: p.controller != "dead",
    "plate_wired": lambda p: not p.plate_is_wireless,
    "battery_good": lambda p: p.battery,
    "receiver_knows_it": lambda p: p.transmitter_taught,
    "plate_clicks": lambda p: p.plate != "bent",
    "contact_closes": lambda p: p.plate != "contact broken",
    "contact_reaches_controller": lambda p: p.plate_wire,
    "strike_releases": lambda p: p.lock_releases,
    "swings_freely": lambda p: not p.binds,
    "shuts_freely": lambda p: p.shuts_freely,
    "motor_runs": lambda p: p.motor,
    "no_wedge": lambda p: not p.wedge,
    "fully_shut": lambda p: not p.ajar,
    "hands_entered": lambda p: p.entries_made,
    "hands_match": lambda p: p.hand_right,
    "hands_opposite": lambda p: p.hand_right,
    "named_leaf_moves": lambda p: not p.motors_crossed,
    "arm_as_entered": lambda p: p.arm_kind_right,
    "motor_plug_right": lambda p: p.motor_plug_right,
    "second_motor_powered": lambda p: p.second_linked and p.motor_plugged,
    "second_motor_runs": lambda p: p.second_linked and p.second_motor,
    "second_motor_right_way": lambda p: p.hand_right,
    "set_as_pair": lambda p: p.set_for != "a single leaf",
    "set_as_this_door": lambda p: p.set_for == "this door",
    "flush_bolts_free": lambda p: p.flush_bolt_free,
    "coordinator_holds": lambda p: p.coordinator,
    "active_leaf_set_right": lambda p: not p.motors_crossed,
    "closing_delay_enough": lambda p: p.closing_delay_enough,
    "inactive_leaf_shut": lambda p: not p.inactive_comes_late,
    "arm_tight": lambda p: p.arm == "tight",
    "full_travel": lambda p: (
        p.hand_right and not p.wedge and not p.binds and p.arm == "tight" and p.motor_sensor
    ),
    "opened_right_way": lambda p: p.hand_right,
    "settings_kept": lambda p: p.saved,
    "still_learned": lambda p: p.learned != "nothing",
    "learned_this_leaf": lambda p: p.learned == "this leaf",
    "no_code_shown": lambda p: p.controller != "dead",
    "still_without_wind": lambda p: p.latch == "good" and p.controller != "starts by itself",
    "same_without_wind": lambda p: p.wind != "opens",
    "shut_without_push_and_go": lambda p: p.push_and_go_is_light,
    "latch_catches": lambda p: p.latch == "good",
    "latches_by_hand": lambda p: p.latch == "good",
    "bolt_moves": lambda p: p.latch != "sticks",
    "strike_relocks_in_time": lambda p: p.strike_relocks_in_time,
    "strike_releases_unloaded": lambda p: p.strike == "good" and p.strike_wire and p.strike_output,
    "motor_waits": lambda p: p.unlock_delay_enough,
    "strike_clicks": lambda p: p.strike == "wrong voltage",
    "strike_silent": lambda p: p.strike != "wrong voltage",
    "strike_voltage": lambda p: p.strike_wire and p.strike_output,
    "relay_clicks": lambda p: p.strike_output,
    "ajar_in_still_air": lambda p: p.wind == "still",
    "opens_slow_in_still_air": lambda p: p.wind == "still",
    "slams_in_still_air": lambda p: p.wind == "still",
    "reverses_in_still_air": lambda p: p.wind == "still",
    "latching_not_slow": lambda p: p.latching_speed != "low",
    "opening_speed_as_planned": lambda p: p.opening_speed == "planned",
    "closing_speed_as_planned": lambda p: p.closing_speed == "planned",
    "opening_force_as_planned": lambda p: p.opening_force == "planned",
    "opening_speed_not_high": lambda p: p.opening_speed != "high",
    "closing_speed_not_high": lambda p: p.closing_speed != "high",
    "latching_speed_not_high": lambda p: p.latching_speed != "high",
    "opening_force_not_high": lambda p: p.opening_force != "high",
    "hold_time_enough": lambda p: p.hold_open != "short",
    "closes_after_a_minute": lambda p: p.hold_open == "long",
    "closes_slowly_unpowered": lambda p: p.closer and p.arm == "tight",
    "end_damped_unpowered": lambda p: p.closer and p.arm == "tight",
    "closes_unpowered": lambda p: p.spring != "broken",
    "sensors_quiet": lambda p: p.sensor not in ("sees a thing", "false"),
    "sensor_path_clear": lambda p: p.sensor != "sees a thing",
    "opening_sensor_quiet": lambda p: p.sensor != "sees wall" and p.sensor_cable,
    "closing_sensor_quiet": lambda p: p.sensor != "sees frame",
    "opening_sensor_stops": lambda p: p.sensor != "misaimed",
    "closing_sensor_stops": lambda p: p.sensor != "misaimed",
    "stops_anywhere": lambda p: p.sensor != "sees wall",
    "plates_out_of_path": lambda p: not p.plate_in_path,
    "path_guarded": lambda p: p.path_guarded,
    "signs_there": lambda p: p.signs,
    "time_to_walk": lambda p: p.hold_open != "short" and not p.plate_is_far,
    "silent_by_hand": lambda p: p.hinges_quiet and not p.drags_aloud,
    "hinges_quiet": lambda p: p.hinges_quiet,
    "mounting_tight": lambda p: p.mounting_tight,
    "arm_joints_quiet": lambda p: p.arm_joints_quiet,
    "slow_way": lambda p: _way(p.slow_to_open, p.slow_to_close),
    "reverses_way": lambda p: "closes" if p.reopens else "opens",
    "hits_way": lambda p: "closes" if p.hits_while_closing else "opens",
    "slams_where": lambda p: (
        "all_way" if p.closing_speed == "high" or not p.closer or p.arm != "tight" else "end"
    ),
}
"""Observations of a door by name, as true, false or the choice that is seen."""


def observe(parts: Parts, sees: str) -> str:
    """Answers as a person at the door would: 'yes', 'no', or the choice that is seen.

    Raises KeyError when nothing is known of such an observation.
    """
    found = SEEN[sees](parts)
    return found if isinstance(found, str) else "yes" if found else "no"
