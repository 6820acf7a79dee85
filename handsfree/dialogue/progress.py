"""The conversation's place in a visit: the part of the visit's record that it keeps itself."""

from handsfree.visit_record.progress import (
    Progress,
    apply,
    changes_progress,
    replay,
)

__all__ = ["Progress", "apply", "changes_progress", "replay"]
