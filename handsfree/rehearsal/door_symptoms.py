"""The complaints about a door and the observations at it, both derived from its parts."""

from __future__ import annotations

from collections.abc import Callable

from handsfree.rehearsal.door_parts import Parts


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
    "magnet-fails": lambda p: not (p.lock_releases and p.magnet_holds and p.exit_devices),
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
"""Test for each complaint, by the name of its search tree: true if the door justifies it."""


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
    "magnet_releases_unloaded": lambda p: p.magnet_releases,
    "magnet_free_unpowered": lambda p: p.magnet != "stuck",
    "magnet_relay_clicks": lambda p: p.magnet_output,
    "magnet_holds": lambda p: p.magnet_holds,
    "magnet_voltage": lambda p: p.magnet_supply,
    "armature_flat": lambda p: p.armature_flat,
    "exit_releases": lambda p: p.exit_devices,
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
"""Observations of a door by name: true, false, or the choice that is seen."""


def observe(parts: Parts, sees: str) -> str:
    """Answers as a person at the door would: 'yes', 'no', or the choice that is seen.

    Raises KeyError for an unknown observation.
    """
    found = SEEN[sees](parts)
    return found if isinstance(found, str) else "yes" if found else "no"
