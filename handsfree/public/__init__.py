"""The public API for Python programs: ``load_visit`` and ``check_door``. See docs/python.md."""
