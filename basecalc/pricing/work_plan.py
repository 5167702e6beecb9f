"""Which work falls on which day, from the owner's production rates: one step after the other, each on every area."""

from dataclasses import dataclass
from math import floor
from typing import Final

from basecalc.checks import number
from basecalc.pricing.record import Estimate
from basecalc.rounding import whole_up
from basecalc.takeoff.codes import code

STEPS: Final = ("old-pavement", "dig", "foundation-place", "base-place", "paver-lay")


@dataclass(frozen=True, slots=True)
class Step:
    """A step of the work on the whole job.

    Parameters
    ----------
    code, title
        The work code and its words.
    hours
        How long it takes, the longer of crew and machine [h]; None where the owner has no rate for it.
    start_h, end_h
        Working hours from the first morning to its start and its end [h]; None behind a step of unknown length.
    day_h
        Working hours of a day [h].
    """

    code: str
    title: str
    hours: float | None
    start_h: float | None
    end_h: float | None
    day_h: float

    @property
    def first_day(self) -> int | None:
        """The day it begins, the first day of work being 1; None where nobody can tell."""
        return None if self.start_h is None else floor(round(self.start_h / self.day_h, 9)) + 1

    @property
    def last_day(self) -> int | None:
        """The day it ends; None where nobody can tell."""
        if self.end_h is None or self.first_day is None:
            return None
        return max(whole_up(self.end_h / self.day_h), self.first_day)

    def done_by(self, day: int) -> float:
        """Return the share of the step that is done at the end of a day; all of it where its length is not known.

        Parameters
        ----------
        day
            The day, from 1.
        """
        if self.start_h is None or self.end_h is None:
            return 1.0
        done = (min(day * self.day_h, self.end_h) - self.start_h) / (self.end_h - self.start_h)
        return min(max(round(done, 12), 0.0), 1.0)


def work_plan(estimate: Estimate, hours_per_day: float) -> tuple[Step, ...]:
    """Return the steps of a job with their hours and days, in the order of the work.

    One crew is taken to finish each step on every area before it begins the next.

    Parameters
    ----------
    estimate
        The priced option.
    hours_per_day
        Working hours of a day [h].
    """
    day = number("hours in a day", hours_per_day, "h", 0.5, 24.0)
    taken = {work.code: work for work in estimate.hours}
    steps: list[Step] = []
    clock: float | None = 0.0
    for key in STEPS:
        if key not in taken:
            continue
        known = [hours for hours in (taken[key].crew_h, taken[key].machine_h) if hours is not None]
        hours = max(known) if known else None
        end = None if clock is None or hours is None else clock + hours
        steps.append(Step(key, code(key).title, hours, clock, end, day))
        clock = end
    return tuple(steps)
