"""Days and moments as people type them: the site's own time, and never one by default."""

from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError

from sites.reach import require_in_reach

# The browser's own field cannot show what is no day or time; then the text stands in a plain one,
# so that nothing is lost.
DAY_FORMATS = ("%Y-%m-%d", "%d %b %Y", "%d %B %Y")
MOMENT_FORMATS = (
    "%Y-%m-%dT%H:%M",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S",
    "%Y-%m-%d %H:%M:%S",
    "%d %b %Y, %H:%M",
    "%d %b %Y %H:%M",
)


# Further from the day that it belongs to, a day is taken for a slip of the year or the month.
FAR = timedelta(days=92)
PLANNED_AHEAD_YEARS = 5


def require_near(day: date, belongs_to: date, called: str, otherwise: str) -> None:
    """called: what that day is; otherwise: what to do where the day is right all the same. Raises: ValidationError"""
    off = day - belongs_to
    if abs(off) > FAR:
        way = "after" if off > timedelta() else "before"
        raise ValidationError(
            f"{shown_day(day)} lies {abs(off.days):,} days {way} {shown_day(belongs_to)}, {called}. Check the year and "
            f"the month. {otherwise}"
        )


def require_soon_enough(day: date, today: date) -> None:
    """A visit is planned at most so many years ahead. Raises: ValidationError"""
    if day.year > today.year + PLANNED_AHEAD_YEARS:
        raise ValidationError(
            f"{shown_day(day)} lies more than {PLANNED_AHEAD_YEARS} years ahead. Check the year; a visit is planned "
            "nearer to its day."
        )


class LocalDay(forms.DateField):
    """A day at the site, as 2027-03-12 or 12 Mar 2027; 03/12/2027 means two days and is refused."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
        super().__init__(widget=widget, input_formats=DAY_FORMATS, **kwargs)

    def clean(self, value: Any) -> date | None:
        try:
            day: date | None = super().clean(value)
        except ValidationError as fault:
            if not value:
                raise
            self.widget.attrs["type"] = "text"
            raise ValidationError(
                f"“{str(value)[:40]}” is not a day. Write year, month and day, such as 2027-03-12."
            ) from fault
        if day is not None:
            require_in_reach(day)
        return day


class LocalMoment(forms.Field):
    """A moment in the site's own time; comes out aware.

    zone: set by the form, which knows the site
    A time that the clocks left out is refused; one that came twice is asked for with its offset.
    """

    zone = ZoneInfo("UTC")

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=forms.DateTimeInput(attrs={"type": "datetime-local"}), **kwargs)

    def at_site(self, time_zone: str) -> None:
        """Take and show times in this zone."""
        self.zone = ZoneInfo(time_zone)
        self.help_text = f"The site’s own time, {time_zone}."

    def clean(self, value: Any) -> datetime | None:
        try:
            return super().clean(value)
        except ValidationError:
            if value:
                self.widget.attrs["type"] = "text"
            raise

    def to_python(self, value: Any) -> datetime | None:
        text = " ".join(str(value or "").split())
        if not text:
            return None
        naive, offset = _read(text)
        require_in_reach(naive.date())
        if offset is not None:
            return _with_offset(naive, offset, self.zone)
        return _local(naive, self.zone)


def _read(text: str) -> tuple[datetime, timedelta | None]:
    """The moment as written, and its offset from UTC where one was written."""
    for form in MOMENT_FORMATS:
        for tail in ("", "%z", " %z"):
            try:
                found = datetime.strptime(text, form + tail)
            except ValueError:
                continue
            return found.replace(tzinfo=None), found.utcoffset()
    raise ValidationError(
        f"“{text[:40]}” is not a day and a time. Write year, month, day, hour and minute, such as 2027-03-12 10:42."
    )


def _local(naive: datetime, zone: ZoneInfo) -> datetime:
    first, second = (naive.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first.astimezone(UTC)
    if _exists(first):
        raise ValidationError(
            f"{naive:%H:%M} came twice on {shown_day(naive)} at {zone.key}, because the clocks went back. "
            f"Write it with its offset: {naive:%Y-%m-%d %H:%M} {_offset(first)} for the first, "
            f"{_offset(second)} for the second."
        )
    raise ValidationError(
        f"There was no {naive:%H:%M} on {shown_day(naive)} at {zone.key}: the clocks went forward over it. "
        "Look at the time again."
    )


def _exists(moment: datetime) -> bool:
    back = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return back.replace(tzinfo=None) == moment.replace(tzinfo=None)


def _with_offset(naive: datetime, offset: timedelta, zone: ZoneInfo) -> datetime:
    moment = naive.replace(tzinfo=timezone(offset))
    if moment.astimezone(zone).utcoffset() != offset:
        raise ValidationError(
            f"{zone.key} did not have that offset on {shown_day(naive)}. Write the time without an offset."
        )
    return moment.astimezone(UTC)


def _offset(moment: datetime) -> str:
    return f"{moment:%z}"[:3] + ":" + f"{moment:%z}"[3:5]


def shown_day(day: date) -> str:
    """12 Mar 2027"""
    return f"{day:%-d %b %Y}"


def moments_at(form: forms.BaseForm, time_zone: str, names: Sequence[str]) -> None:
    """Tell a form's moments which site they are at."""
    for name in names:
        field = form.fields[name]
        if isinstance(field, LocalMoment):
            field.at_site(time_zone)
