"""Has records build their validators on first use: a visit on a phone needs few of them.

Imported before everything else in the app. It takes a third off the imports.
"""

from __future__ import annotations

from handsfree.job.record import Record

Record.model_config["defer_build"] = True
