"""What stands around the seconds that solving a week takes: a terminal says there that it is at work."""

from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext

around: Callable[[], AbstractContextManager[None]] = nullcontext
