"""The public face for Python programs: ``load_visit`` and ``check_door``. docs/python.md shows
both."""
