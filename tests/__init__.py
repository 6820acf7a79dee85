"""The package comes first: it gives numpy one thread, which numpy reads when it is imported."""

import handsfree  # noqa: F401
