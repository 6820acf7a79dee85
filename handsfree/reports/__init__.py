"""Views of a visit: summary, report, owner's record, export, and the pack to mail."""
