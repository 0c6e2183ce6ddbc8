"""A gauge attached to a bench: its link, its calibration, and what waits between it and a station.

Everything here runs in the thread of whoever fetches; only the link has a thread of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime

from benchterm.core.events import GaugeChosen
from benchterm.gauge import offer as offers
from benchterm.gauge.calibrated import History, load_history, reminders
from benchterm.gauge.link import Inbox, Link
from benchterm.gauge.listener import BatteryLow, LinkState, Moved, Showing, Stands
from benchterm.gauge.offer import Offer, Place, Taken
from benchterm.gauge.ports import SerialPort, open_address
from benchterm.gauge.profile import Profile, Sends, load_profile
from benchterm.gauge.telling import BATTERY_LOW, told

_FINE = frozenset((LinkState.OPEN, LinkState.READING, LinkState.OFF))


@dataclass(frozen=True, slots=True)
class Said:
    """Something the person at the bench should know."""

    text: str
    trouble: bool


def attach(address: str, profile: str) -> Attached | None:
    """The gauge of the settings; ``None`` if no address is set.

    Raises:
        SettingsError: its profile cannot be used.
    """
    if not address:
        return None
    return Attached(address, load_profile(profile), load_history(address))


class Attached:
    """One gauge at one bench."""

    def __init__(
        self,
        address: str,
        profile: Profile,
        history: History,
        open_port: Callable[[str, Profile], SerialPort] = open_address,
    ) -> None:
        self._inbox = Inbox()
        self._link = Link(address, profile, self._inbox, history.corrected, open_port)
        self._history = history
        self._stream = profile.sends.how is not Sends.BUTTON
        self._offer = Offer()
        self._was_fine = True
        self.state = LinkState.OFF
        """How the link stood when news was fetched last."""
        self.showing_n_cm: float | None = None
        """What the gauge shows; it may be passing. ``None``: nothing, or off the mesh."""

    def start(self, wake: Callable[[], None]) -> None:
        """Begin to listen; ``wake`` is called, from another thread, when there is news to fetch."""
        self._inbox.wake = wake
        self._link.start()

    def stop(self) -> None:
        """Let the gauge go."""
        self._link.stop()

    def fetch(self, now_s: float) -> Iterator[Taken | Said]:
        """What came since the last time: values that met their place, things to be told."""
        for news in self._inbox.fetch():
            self._offer, taken = offers.hear(self._offer, news, now_s, stream=self._stream)
            if taken is not None:
                yield taken
            match news:
                case Showing(reading):
                    self.showing_n_cm = reading.n_cm
                case Moved(lifted=True):
                    self.showing_n_cm = None
                case BatteryLow():
                    yield Said(BATTERY_LOW, trouble=True)
                case Stands(state):
                    yield from self._stands(state)
        self._offer = offers.pass_time(self._offer, now_s)

    def name(self, place: Place, now_s: float) -> Taken | None:
        """The person names a place; the value that was offered, if one was."""
        self._offer, taken = offers.name(self._offer, place, now_s)
        return taken

    def give_back(self, taken: Taken, now_s: float) -> None:
        """A value could not be written down: offer it again."""
        self._offer = offers.give_back(self._offer, taken, now_s)

    def cancel(self) -> None:
        """The place that was named is not meant any longer."""
        self._offer = offers.cancel(self._offer)

    def reminders(self, now: datetime, valid_days: float) -> tuple[str, ...]:
        """What the person at the bench should know of the gauge's calibration."""
        return tuple(reminders(self._history, now, valid_days))

    @property
    def waiting(self) -> str:
        """One line on what waits for the person or the gauge; empty: nothing."""
        return offers.told(self._offer)

    @property
    def ready(self) -> bool:
        """Whether a value can come from the gauge: also one that is silent now may send again."""
        return self.state.is_open

    @property
    def offered_n_cm(self) -> float | None:
        """The value that waits for a place."""
        reading = self._offer.reading
        return None if reading is None else reading.n_cm

    @property
    def chosen(self) -> GaugeChosen:
        """Which gauge this is and how its readings are corrected, for the record."""
        return GaugeChosen(self._link.address, wired=True, calibration=self._history.in_force)

    def _stands(self, state: LinkState) -> Iterator[Said]:
        """Tell of trouble, and of its end; not of every change."""
        self.state = state
        fine = state in _FINE
        if not fine:
            self.showing_n_cm = None
        if not fine or not self._was_fine:
            yield Said(told(state, self._link.address, self._link.profile), trouble=not fine)
        self._was_fine = fine
