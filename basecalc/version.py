"""The version of this package, in a room that costs nothing to enter."""

from typing import Final

VERSION: Final = "0.1.0"
