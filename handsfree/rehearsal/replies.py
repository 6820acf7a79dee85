"""The tool's sentences, grouped by their meaning to the technician."""

from __future__ import annotations

ASKS = frozenset(
    (
        *(
            "implausible",
            "unit_in_doubt",
            "off_the_scale",
            "one_of_two",
            "which_value",
            "or_leave",
            "note_or_answer",
            "two_heard",
            "withdraw",
            "clock_another",
        ),
        *("clock_run_again", "open_ask", "open_ask_wrong", "wait_word", "wait_word_wrong"),
        *("hand_over_ask", "hand_over_words", "hand_over_who", "search_offer"),
        "complaint_keep",
        *("hold_ask", "hold_no_more", "gate_learn_cycle", "gate_settings_lock", "gate_people"),
        *("fault_work_ask", "fault_work_words", "fault_gone", "fault_which", "fault_found"),
        *("standing_by", "stopped", "note_go_ahead", "what_is_wrong", "skip_reason"),
        *("which_leaf", "which_quantity", "no_clock", "reading_missing", "wants_word"),
        *("caution_hold", "done_hold", "learn_hold", "jog_hold"),
    )
)
"""Questions that the technician answers."""
REPEAT = frozenset(
    (
        *("say_again", "first_answer", "affirm_or_negative", "nothing_waits"),
        *("wrong_unit", "spell_or_type", "yes_or_type", "type_it", "hear_badly"),
        *("typed", "typed_often"),
    )
)
"""Requests to repeat the last words."""
TO_QUESTIONS = frozenset(
    (
        *("", "remaining", "nothing_left", "position", "no_limit", "nothing_read"),
        *("readability", "readability_db", "level_full", "voice_changed", "clock_not_running"),
        *("circling", "other_words", "or_type"),
    )
)
"""Answers to the technician's questions. If there was none, an answer was misheard as a
question.
"""
DOUBTED = frozenset(
    (
        *("implausible", "unit_in_doubt", "off_the_scale", "which_leaf", "which_quantity"),
        *("no_such", "no_stage", "no_skip", "two_heard"),
    )
)
"""Sentences that ask again for a value or word that was heard as something else."""
