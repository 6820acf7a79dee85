"""The training has dependencies of its own (the train extra); without torch it is not tested."""

import pytest

pytest.importorskip("torch", reason="training needs the train extra: pip install '.[train]'")
