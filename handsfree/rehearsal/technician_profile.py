"""Behavior of a simulated technician: how often slips, chat, forgetting and questions occur."""

from __future__ import annotations

from handsfree.job.record import Record


class TechnicianProfile(Record):
    """Probabilities of behaviors, 0 to 1.

    ``slips``: says a wrong value first; ``corrects``: fixes it with 'correction' instead of
    'negative'. ``chats``: talks to a bystander; ``strangers``: a bystander talks to the technician;
    ``nonsense``: says something that is not a sentence. ``forgets``: stays silent until reminded;
    ``asks``: asks the tool something; ``by_ear``: takes the times with the tool's clock.
    ``at_controller``: makes each of the mistakes in a controller's set-up (a wrong hand, a skipped
    save, an aborted learn cycle, a blocked leaf).
    """

    slips: float = 0.0
    corrects: float = 0.5
    chats: float = 0.0
    strangers: float = 0.0
    nonsense: float = 0.0
    forgets: float = 0.0
    asks: float = 0.0
    by_ear: float = 0.0
    at_controller: float = 0.0


CAREFUL = TechnicianProfile()
"""Does exactly what the tool asks."""
HUMAN = TechnicianProfile(
    slips=0.04,
    chats=0.04,
    strangers=0.03,
    nonsense=0.02,
    forgets=0.02,
    asks=0.03,
    by_ear=0.5,
    at_controller=0.25,
)
"""Makes human mistakes."""

CHAT = (
    "did you bring the tall ladder in from the van",
    "I left my gloves on the passenger seat",
    "can you hold this for a minute please",
    "we should be finished here before it gets dark",
    "who has the key for the basement",
    "the customer wants a word with you upstairs",
    "put the old parts in the blue box over there",
    "watch your step the floor is wet",
    "have you seen my pencil anywhere",
    "let me ask the people at reception",
)
"""Remarks to a coworker."""
STRANGERS = (
    "excuse me is this the way to the swimming pool",
    "how much longer will this take",
    "is the other entrance open today",
    "sorry may I get through here",
    "what are you doing up there",
    "do you know when the office opens",
)
"""Remarks of passers-by."""
NONSENSE = (
    "the thing with the other thing",
    "about the same as before I think",
    "it looks good to me somehow",
    "a bit more than last time",
    "hang on where was I",
)
"""Remarks to the tool that are not sentences of the grammar."""
ASIDES = (
    "what is the limit",
    "say again",
    "where am I",
    "why",
    "how do you read",
    "what is left",
    "read back the left leaf",
)
"""Questions that can be asked at any time."""
