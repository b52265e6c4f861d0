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

    def take(self, key: Hashable, amount: float = 1.0) -> float:
        """Take one request, or as much of something; 0 when it may go on, else how long to wait [s].

        More than fits at all is let pass when all is left, and waited for afterwards.
        """
        with self._lock:
            now = self._clock()
            left, then = self._left.get(key, (float(self._burst), now))
            left = min(left + (now - then) * self._rate, float(self._burst))
            needed = min(amount, float(self._burst))
            wait = 0.0 if left >= needed else (needed - left) / self._rate
            self._left[key] = (left - amount if wait == 0.0 else left, now)
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


_DAY = 24 * 3600.0
MEGABYTE = 1024 * 1024


@dataclass(frozen=True)
class Shares:
    """How much one person may ask for and keep where several share a server: at once, and in the long run.

    A tablet that fetches a whole lot for work without network asks for some hundred pages in a row; who measures a wafer keeps
    some hundred files in a day.
    """

    pages: Bucket = field(default_factory=lambda: Bucket(rate=20.0, burst=900))
    strangers: Bucket = field(default_factory=lambda: Bucket(rate=20.0, burst=300))
    files: Bucket = field(default_factory=lambda: Bucket(rate=1000 / _DAY, burst=1000))
    megabytes: Bucket = field(default_factory=lambda: Bucket(rate=2048 / _DAY, burst=2048))
    entries: Bucket = field(default_factory=lambda: Bucket(rate=20_000 / _DAY, burst=20_000))


class Counts:
    """How often something happened in the last day, by person, so that what is unusual is seen.

    Parameters
    ----------
    clock : callable
        Seconds that never run backwards.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._hours: dict[int, dict[tuple[str, str], int]] = {}

    def note(self, who: str, what: str, times: int = 1) -> int:
        """Something happened; how often by now in the last 24 hours."""
        with self._lock:
            hour = int(self._clock() // 3600)
            for old in [each for each in self._hours if each <= hour - 24]:
                del self._hours[old]
            held = self._hours.setdefault(hour, {})
            if (who, what) in held or len(held) < _MOST_KEYS:
                held[who, what] = held.get((who, what), 0) + times
            return sum(each.get((who, what), 0) for each in self._hours.values())

    def today(self) -> dict[tuple[str, str], int]:
        """(who, what) and how often in the last 24 hours."""
        with self._lock:
            hour = int(self._clock() // 3600)
            found: dict[tuple[str, str], int] = {}
            for when, held in self._hours.items():
                for key, times in held.items() if when > hour - 24 else ():
                    found[key] = found.get(key, 0) + times
            return found
