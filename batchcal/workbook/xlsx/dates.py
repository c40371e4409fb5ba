"""Dates and times: as numbers of days (from 1900 or from 1904), or as texts in the strict form of Open XML."""

import datetime as dt
import re

from batchcal.workbook.xlsx.number_formats import Form
from batchcal.workbook.xlsx.references import UnfitError

SINCE_1900 = dt.datetime(1899, 12, 30)
SINCE_1904 = dt.datetime(1904, 1, 1)

Moment = dt.datetime | dt.time | dt.timedelta

_SECONDS_OF_A_DAY = 86_400
_DAY_THAT_WAS_NOT = 60
"""By 1900, the number of 29 February 1900."""

_DAY_0 = {SINCE_1900: (dt.date(1899, 12, 30), dt.date(1899, 12, 31)), SINCE_1904: (dt.date(1904, 1, 1),)}
"""Days on which a time of day stands that has no day; by 1900 programs differ in how they count the first of them."""

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TIME = re.compile(r"\d{2}:\d{2}(:\d{2}(\.\d{1,9})?)?", re.ASCII)
_DURATION = re.compile(
    r"P(?:(\d{1,7})D)?(?:T(?:(\d{1,9})H)?(?:(\d{1,9})M)?(?:(\d{1,9}(?:\.\d{1,9})?)S)?)?(?<![PT])", re.ASCII
)


def from_number(days: float, form: Form, epoch: dt.datetime) -> Moment | None:
    """Return what a number of days is, shown as ``form``: a date, a time of day below one day, or a length of time.

    Dates are rounded to a millisecond and lengths of time cut to one. Counted from 1900, the days before 1 March are
    one less than they are numbered. None for a number beyond the calendar.
    """
    try:
        return _length(days) if form is Form.DURATION else _date(days, epoch)
    except (OverflowError, ValueError):
        return None


def _length(days: float) -> dt.timedelta:
    exact = dt.timedelta(days=days)
    return dt.timedelta(days=exact.days, seconds=exact.seconds, microseconds=round(exact.microseconds, -3))


def _date(days: float, epoch: dt.datetime) -> dt.datetime | dt.time:
    day, fraction = divmod(days, 1)
    time = dt.timedelta(milliseconds=round(fraction * _SECONDS_OF_A_DAY * 1000))
    if 0 <= days < 1 and not time.days:
        return (epoch + time).time()
    if 0 < days < _DAY_THAT_WAS_NOT and epoch == SINCE_1900:
        day += 1
    return epoch + dt.timedelta(days=day) + time


def from_text(text: str, form: Form, epoch: dt.datetime) -> Moment:
    """Return the date, time of day or length of time in a text; UnfitError where it is none.

    Read as year-month-day, hour:minute:second, both with T between them, or PT1H30M; a Z at the end changes nothing.
    """
    text = text.strip()
    try:
        moment = _moment(text.removesuffix("Z"))
    except (OverflowError, ValueError) as error:
        raise UnfitError(f"holds {text[:40]!r}, which is no date") from error
    if isinstance(moment, dt.timedelta):
        return moment
    if form is Form.DURATION:
        return _since(epoch, moment)
    if isinstance(moment, dt.datetime) and moment.date() in _DAY_0[epoch]:
        return moment.time()
    return moment


def _since(epoch: dt.datetime, moment: dt.datetime | dt.time) -> dt.timedelta:
    if isinstance(moment, dt.time):
        return dt.datetime.combine(epoch, moment) - epoch
    passed = moment - epoch
    # Counted from 1900, 1 January is day 1; the day that is one too many is the 60th, 29 February.
    return passed - dt.timedelta(days=1) if epoch == SINCE_1900 and 0 < passed.days <= 60 else passed


def _moment(text: str) -> Moment:
    duration = _DURATION.fullmatch(text)
    if duration is not None:
        days, hours, minutes, seconds = (float(each or 0) for each in duration.groups())
        return dt.timedelta(days=days, hours=hours, minutes=minutes, seconds=seconds)
    date, _, time = text.partition("T") if "T" in text else text.partition(" ")
    if not time and _TIME.fullmatch(date):
        date, time = "", date
    if (date and not _DATE.fullmatch(date)) or (time and not _TIME.fullmatch(time)) or not (date or time):
        raise ValueError(text)
    clock = dt.time.fromisoformat(time) if time else dt.time()
    return dt.datetime.combine(dt.date.fromisoformat(date), clock) if date else clock
