"""The log is a chain: any later change of it shows."""

import json
from datetime import timedelta

import pytest
from django.db import connection, transaction

from sites import log, protection
from sites.models import Firm, LogEntry, LogHead
from tests import factories as f

TABLE = "register_logentry"


def firm_with_entries(count: int = 3) -> Firm:
    firm, person = f.FirmFactory(), f.PersonFactory()
    for n in range(count):
        with transaction.atomic():
            log.record(
                firm, "point created", firm, by=person, at=f.AT + timedelta(minutes=n), facts={"n": str(n)}
            )
    return firm


def tamper(statement: str, *values: object) -> None:
    """What somebody with the database's keys could do."""
    protection.lift([TABLE])
    with connection.cursor() as cursor:
        cursor.execute(statement, values)
    protection.install()


@pytest.mark.django_db
def test_it_links_each_entry_to_the_one_before() -> None:
    firm = firm_with_entries()
    first, second, third = firm.log.order_by("number")
    assert (first.number, first.previous) == (1, "")
    assert (second.previous, third.previous) == (first.hash, second.hash)
    head = LogHead.objects.get(firm=firm)
    assert (head.entries, head.hash) == (3, third.hash)
    assert list(log.faults(firm)) == []


@pytest.mark.django_db
def test_it_covers_what_was_said_and_names_no_contact() -> None:
    firm, person = f.FirmFactory(), f.PersonFactory(email="hidden@example.org")
    entry = log.record(firm, "point created", firm, by=person, at=f.AT, facts={"place": "roof, µ and Łódź"})
    told = json.loads(entry.payload)
    assert told["facts"] == {"place": "roof, µ and Łódź"}
    assert told["by"]["person"] == str(person.identity)
    assert "hidden" not in entry.payload
    assert told["by"]["contact"] == log.sealed(person, "HIDDEN@example.org")


@pytest.mark.django_db
def test_it_keeps_each_firms_chain_to_itself() -> None:
    one, other = firm_with_entries(2), firm_with_entries(4)
    assert list(one.log.values_list("number", flat=True).order_by("number")) == [1, 2]
    assert LogHead.objects.get(firm=other).entries == 4


@pytest.mark.django_db
@pytest.mark.parametrize("number", [1, 2, 3])
def test_it_names_a_removed_entry(number: int) -> None:
    firm = firm_with_entries()
    tamper(f"DELETE FROM {TABLE} WHERE firm_id = %s AND number = %s", firm.pk, number)
    assert f"{firm}: log entry {number} is missing." in list(log.faults(firm))


@pytest.mark.django_db
@pytest.mark.parametrize("column", ["payload", "action", "hash", "previous", "subject_kind"])
def test_it_names_a_changed_entry(column: str) -> None:
    firm = firm_with_entries()
    tamper(
        f"UPDATE {TABLE} SET {column} = 'X' || substr({column}, 2) WHERE firm_id = %s AND number = 2", firm.pk
    )
    assert any("log entry 2" in fault for fault in log.faults(firm))


@pytest.mark.django_db
def test_it_names_an_entry_that_shows_somebody_else_as_who_did_it() -> None:
    firm, other = firm_with_entries(), f.PersonFactory()
    tamper(f"UPDATE {TABLE} SET person_id = %s WHERE firm_id = %s AND number = 2", other.pk, firm.pk)
    assert list(log.faults(firm)) == [f"{firm}: log entry 2: the column person differs from what was logged."]
    tamper(f"UPDATE {TABLE} SET person_id = NULL WHERE firm_id = %s AND number = 2", firm.pk)
    assert len(list(log.faults(firm))) == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    "payload", ["", "no longer anything", "[]", "null", '"by"', '{"by":"me"}', "[" * 9000]
)
def test_it_names_an_entry_changed_into_something_else_and_goes_on(payload: str) -> None:
    firm = firm_with_entries()
    tamper(f"UPDATE {TABLE} SET payload = %s WHERE firm_id = %s AND number < 3", payload, firm.pk)
    faults = list(log.faults(firm))
    for number in (1, 2):
        assert f"{firm}: log entry {number} was changed: its hash does not fit its content." in faults


@pytest.mark.django_db
def test_it_names_a_head_that_was_taken_away() -> None:
    firm = firm_with_entries()
    LogHead.objects.filter(firm=firm).delete()
    assert list(log.faults(firm)) == [
        f"{firm}: the log has lost its head, so nothing shows whether its end was cut off."
    ]


@pytest.mark.django_db
def test_it_notices_an_end_cut_off_together_with_the_head() -> None:
    firm = firm_with_entries()
    last = firm.log.get(number=3)
    tamper(f"DELETE FROM {TABLE} WHERE id = %s", last.pk)
    LogHead.objects.filter(firm=firm).update(hash=last.previous)
    assert list(log.faults(firm)) == [f"{firm}: log entry 3 is missing."]


@pytest.mark.django_db(transaction=True)
def test_it_refuses_to_write_outside_the_transaction_of_an_act() -> None:
    firm = f.FirmFactory()
    with pytest.raises(RuntimeError, match="transaction"):
        log.record(firm, "point created", firm, by=None, at=f.AT)
    assert not LogEntry.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_it_takes_nothing_from_an_act_that_fails() -> None:
    firm = firm_with_entries(1)
    with pytest.raises(ZeroDivisionError), transaction.atomic():
        log.record(firm, "point created", firm, by=None, at=f.AT)
        raise ZeroDivisionError
    assert LogHead.objects.get(firm=firm).entries == 1
    assert list(log.faults(firm)) == []
