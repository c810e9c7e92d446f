"""The life of instruments: calibrated, a calibration corrected or withdrawn, retired."""

from dataclasses import asdict, dataclass
from datetime import date, datetime
from typing import Any

from django.db import transaction

from inspections.local_days import days_in_force
from inspections.models import (
    Calibration,
    CalibrationFile,
    CalibrationWithdrawal,
    Instrument,
    InstrumentRetirement,
    Tolerance,
)
from sites import log
from sites.actions.register import shown
from sites.models import Person
from sites.models.media import Media
from sites.reach import LONGEST_YEARS, too_long
from sites.uploads import Taken


class InstrumentRefused(Exception):
    """What the record of an instrument cannot take, with the sentence for whoever tried. field: whose it is, if any"""

    def __init__(self, sentence: str, field: str | None = None) -> None:
        self.field = field
        super().__init__(sentence)


@dataclass(frozen=True, slots=True)
class Certificate:
    """What a certificate states; fields as in ``Calibration``."""

    certificate: str
    calibrated_on: date
    valid_until: date
    laboratory: str = ""
    as_found: str = Tolerance.NOT_STATED
    as_left: str = Tolerance.NOT_STATED
    words: str = ""


@transaction.atomic
def calibrate(
    instrument: Instrument,
    stated: Certificate,
    *,
    file: Taken | None,
    by: Person,
    at: datetime,
) -> Calibration:
    """A calibration as its certificate states it; one withdrawn before may be recorded again under its number.

    file: the certificate itself, in the store already
    Raises: InstrumentRefused for days that cannot be, or a certificate that stands already
    """
    log.locked_head(instrument.firm)
    _require_days(stated, at)
    before = _last(instrument, stated.certificate)
    if before is not None and not _is_withdrawn(before):
        raise InstrumentRefused(
            f"Certificate {before.certificate} stands on record already. Correct that row instead.",
            "certificate",
        )
    again = {"replaces": before, "correction": "recorded again after it was withdrawn"} if before else {}
    return _keep(instrument, stated, file, by, at, "calibration recorded", **again)


@transaction.atomic
def correct(
    calibration: Calibration,
    stated: Certificate,
    *,
    file: Taken | None,
    reason: str,
    by: Person,
    at: datetime,
) -> Calibration:
    """A row that takes the place of a wrong one, which stays. Verdicts keep what they were reckoned from.

    file: another file of the certificate; left out, that of the wrong row goes on standing behind the right one

    Raises: InstrumentRefused without a reason, for days that cannot be, or where it was corrected or withdrawn already
    """
    instrument = calibration.instrument
    log.locked_head(instrument.firm)
    if not reason.strip():
        raise InstrumentRefused("Say why it is corrected.", "reason")
    if not Calibration.objects.standing().filter(pk=calibration.pk).exists():
        raise InstrumentRefused("This row was corrected or withdrawn already. Correct the one that stands.")
    _require_days(stated, at)
    other = _last(instrument, stated.certificate)
    if other is not None and other.pk != calibration.pk:
        raise InstrumentRefused(
            f"Certificate {other.certificate} is another row of this instrument.", "certificate"
        )
    more = {"replaces": calibration, "correction": reason.strip()}
    return _keep(instrument, stated, file or _file_of(calibration), by, at, "calibration corrected", **more)


@transaction.atomic
def withdraw(calibration: Calibration, *, reason: str, by: Person, at: datetime) -> CalibrationWithdrawal:
    """It counts no more. Raises: InstrumentRefused without a reason, or corrected or withdrawn already"""
    instrument = calibration.instrument
    log.locked_head(instrument.firm)
    if not reason.strip():
        raise InstrumentRefused("Say why it is withdrawn.", "reason")
    if not Calibration.objects.standing().filter(pk=calibration.pk).exists():
        raise InstrumentRefused("This row was corrected or withdrawn already.")
    row = CalibrationWithdrawal.objects.create(
        calibration=calibration, reason=reason.strip(), by=by, recorded_at=at
    )
    facts = {"certificate": calibration.certificate, "reason": row.reason}
    log.record(instrument.firm, "calibration withdrawn", instrument, by=by, at=at, facts=facts)
    return row


@transaction.atomic
def retire(
    instrument: Instrument, *, on: date, reason: str, by: Person, at: datetime
) -> InstrumentRetirement:
    """No longer taken along from that day on. Raises: InstrumentRefused without a reason, or retired already"""
    log.locked_head(instrument.firm)
    if not reason.strip():
        raise InstrumentRefused("Say why it is retired.", "reason")
    if InstrumentRetirement.objects.filter(instrument=instrument).exists():
        raise InstrumentRefused("It is retired already.")
    row = InstrumentRetirement.objects.create(
        instrument=instrument, on=on, reason=reason.strip(), by=by, recorded_at=at
    )
    facts = {"on": on.isoformat(), "reason": row.reason}
    log.record(instrument.firm, "instrument retired", instrument, by=by, at=at, facts=facts)
    return row


def _last(instrument: Instrument, certificate: str) -> Calibration | None:
    """The latest row under that number, standing or withdrawn."""
    rows = Calibration.objects.filter(
        instrument=instrument, certificate=certificate, replaced_by__isnull=True
    )
    return rows.order_by("-pk").first()


def _is_withdrawn(calibration: Calibration) -> bool:
    return CalibrationWithdrawal.objects.filter(calibration=calibration).exists()


def _file_of(calibration: Calibration) -> Taken | None:
    kept = CalibrationFile.objects.filter(calibration=calibration).first()
    return Taken(kept.name, Media(kept.media), kept.sha256, kept.size) if kept else None


def term_fault(calibrated_on: date, valid_until: date) -> str:
    """Why a calibration cannot hold from the one day to the other; "" where it can.

    Longer than ten years (common practice is one or two, no published source) is taken for a slip of the year: for all
    of it no reading would be told as taken out of calibration.
    """
    if valid_until < calibrated_on:
        return "A calibration cannot end before the day it was made."
    if too_long(calibrated_on, valid_until):
        return (
            f"{shown(calibrated_on)} to {shown(valid_until)} is more than {LONGEST_YEARS} years. Check both years on "
            "the certificate."
        )
    return ""


def _require_days(stated: Certificate, at: datetime) -> None:
    # An instrument stands at no site, and where it was calibrated may be a day ahead.
    if stated.calibrated_on > days_in_force(at)[-1]:
        raise InstrumentRefused(
            "That day lies in the future. Look at the certificate again.", "calibrated_on"
        )
    if fault := term_fault(stated.calibrated_on, stated.valid_until):
        raise InstrumentRefused(fault, "valid_until")


def _keep(
    instrument: Instrument,
    stated: Certificate,
    file: Taken | None,
    by: Person,
    at: datetime,
    action: str,
    **more: Any,
) -> Calibration:
    row = Calibration.objects.create(instrument=instrument, recorded_at=at, **asdict(stated), **more)
    if file is not None:
        CalibrationFile.objects.create(
            calibration=row, name=file.name, media=file.media, sha256=file.sha256, size=file.size, by=by,
            recorded_at=at,
        )  # fmt: skip
    told = {name: str(value) for name, value in asdict(stated).items() if value}
    told |= {"sha256": file.sha256} if file else {}
    if before := more.get("replaces"):
        told |= {"replaces": before.certificate, "reason": row.correction}
    log.record(instrument.firm, action, instrument, by=by, at=at, facts=told)
    return row
