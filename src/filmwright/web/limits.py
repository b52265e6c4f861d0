"""How often somebody may try: growing waits after wrong passwords and PINs, and so many requests a minute for programs.

Both are kept in the memory of the server: a restart forgets them, which no caller can bring about.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field

FREE, FIRST_WAIT, LONGEST_WAIT, FORGET = 5, 2.0, 900.0, 24 * 3600.0
"""Wrong tries without a wait, the wait after them [s], doubled with each more up to the longest [s]; all is forgotten a day later."""

_MOST_KEYS = 20_000


@dataclass
class _Tried:
    count: int = 0
    until: float = 0.0
    last: float = 0.0


class Tries:
    """Counts tries by key: an account, an address, a PIN at a tablet.

    Parameters
    ----------
    free : int
        Tries before the first wait.
    clock : callable
        Seconds that never run backwards.
    """

    def __init__(self, *, free: int = FREE, clock: Callable[[], float] = time.monotonic) -> None:
        self._free, self._clock = free, clock
        self._lock = threading.Lock()
        self._tried: OrderedDict[Hashable, _Tried] = OrderedDict()

    def begin(self, *keys: Hashable) -> float:
        """Count a try before it is looked at, so that many at once do not get more tries than one after the other.

        Returns
        -------
        float [s]
            0 when it may go on; else how long to wait, and nothing was counted.
        """
        with self._lock:
            now = self._clock()
            found = [self._of(key, now) for key in keys]
            wait = max((each.until - now for each in found), default=0.0)
            if wait > 0.0:
                return wait
            for each in found:
                each.count += 1
                each.last = now
                over = each.count - self._free
                if over >= 0:
                    each.until = now + min(FIRST_WAIT * 2.0 ** min(over, 20), LONGEST_WAIT)
            return 0.0

    def count(self, key: Hashable) -> int:
        """How many tries stand against a key."""
        with self._lock:
            found = self._tried.get(key)
            return found.count if found else 0

    def forgive(self, *keys: Hashable) -> None:
        """Forget the tries of these keys, after a right one."""
        with self._lock:
            for key in keys:
                self._tried.pop(key, None)

    def give_back(self, *keys: Hashable) -> None:
        """Take back one try of keys that others use too: a right password at a shared address wipes nobody else's slate."""
        with self._lock:
            for key in keys:
                found = self._tried.get(key)
                if found is not None:
                    found.count, found.until = max(found.count - 1, 0), 0.0

    def _of(self, key: Hashable, now: float) -> _Tried:
        found = self._tried.get(key)
        if found is None or now - found.last > FORGET:
            found = self._tried[key] = _Tried(last=now)
        self._tried.move_to_end(key)
        while len(self._tried) > _MOST_KEYS:
            self._tried.popitem(last=False)
        return found


class Bucket:
    """So many requests at once, and so many a second in the long run, for each key.

    Parameters
    ----------
    rate : float [1/s]
    burst : int
    clock : callable
    """

    def __init__(self, *, rate: float, burst: int, clock: Callable[[], float] = time.monotonic) -> None:
        self._rate, self._burst, self._clock = rate, burst, clock
        self._lock = threading.Lock()
        self._left: OrderedDict[Hashable, tuple[float, float]] = OrderedDict()

    def take(self, key: Hashable) -> float:
        """Take one request; 0 when it may go on, else how long to wait [s]."""
        with self._lock:
            now = self._clock()
            left, then = self._left.get(key, (float(self._burst), now))
            left = min(left + (now - then) * self._rate, float(self._burst))
            wait = 0.0 if left >= 1.0 else (1.0 - left) / self._rate
            self._left[key] = (left - 1.0 if wait == 0.0 else left, now)
            self._left.move_to_end(key)
            while len(self._left) > _MOST_KEYS:
                self._left.popitem(last=False)
            return wait


@dataclass(frozen=True)
class Waits:
    """The tries of this server: by account, by address, by PIN."""

    names: Tries = field(default_factory=Tries)
    addresses: Tries = field(default_factory=lambda: Tries(free=30))
    pins: Tries = field(default_factory=lambda: Tries(free=3))
