"""Faults of a door, each as the change that it makes to the parts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from handsfree.rehearsal.door_parts import Parts

FAULTS: dict[str, dict[str, Any]] = {
    # supply
    "breaker-off": {"breaker": False},
    "no-supply": {"building_supply": False},
    "power-supply-dead": {"power_supply": False},
    "weak-supply": {"supply_is_stiff": False},
    # facts entered into the controller
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
    # magnetic lock
    "magnet-stuck": {"magnet": "stuck"},
    "magnet-weak": {"magnet": "weak"},
    "armature-off": {"armature_flat": False},
    "magnet-supply": {"magnet_supply": False},
    "magnet-output-not-set": {"magnet_output": False},
    "release-wire": {"release_wire": False},
    "exit-device-dead": {"exit_devices": False},
    "leaf-loads-magnet": {"leaf_loads_magnet": True},
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
    """The door after a repair of everything that these faults have changed."""
    well = Parts()
    names = {name for fault in faults for name in FAULTS.get(fault, ())}
    return replace(parts, **{name: getattr(well, name) for name in names})
