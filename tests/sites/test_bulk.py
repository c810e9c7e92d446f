"""Many rows at once arrive exactly as single ones do."""

from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import transaction

from inspections.models import Reading
from sites import bulk
from sites.models import Part, Site, Structure, System
from tests import factories as f


@pytest.mark.django_db
def test_it_stores_what_saving_one_by_one_stores() -> None:
    one = f.ReadingFactory(
        text="1,25", value_ohm=Decimal("0.00125"), repeats="1\n2", null_ohm=Decimal("0.10"), current_a=None
    )
    fields = [field.attname for field in Reading._meta.concrete_fields if field.attname != "id"]
    skipped = {"value_order", "replaces_id"}
    twin = Reading(**{name: getattr(one, name) for name in fields if name not in skipped})
    assert bulk.insert(Reading, [twin]) == 1
    first, second = (Reading.objects.filter(pk=row.pk).values().get() for row in (one, twin))
    assert {**first, "id": 0} == {**second, "id": 0}
    assert str(Reading.objects.get(pk=twin.pk).null_ohm) == "0.10"


@pytest.mark.django_db
@pytest.mark.parametrize("value", [0.1, "NaN", "12 m"])
def test_it_refuses_what_saving_one_by_one_refuses(value: object) -> None:
    site = f.SiteFactory.build(client=f.ClientFactory(), latitude=value)
    with pytest.raises(ValidationError):
        bulk.insert(Site, [site])


@pytest.mark.django_db
def test_it_gives_keys_that_nobody_has_and_nobody_gets() -> None:
    earlier = f.StructureFactory()
    site = f.SiteFactory()
    facts = {"site": site, "use": "offices", "protection_class": "I", "recorded_at": f.AT}
    rows = [Structure(name=f"Block {n}", **facts) for n in range(bulk.BATCH + 5)]
    assert bulk.insert(Structure, iter(rows)) == bulk.BATCH + 5
    keys = [row.pk for row in rows]
    assert len(set(keys)) == len(keys)
    assert keys == sorted(keys)
    assert earlier.pk < keys[0]
    assert f.StructureFactory().pk > keys[-1]
    assert not rows[0]._state.adding


@pytest.mark.django_db
def test_it_follows_parents_inserted_just_before() -> None:
    structure = Structure(site=f.SiteFactory(), name="Hall", use="x", protection_class="I", recorded_at=f.AT)
    system = System(structure=structure, kind="earthing", name="Earthing", recorded_at=f.AT)
    part = Part(structure=structure, system=system, kind="bonding bar", name="Bar", recorded_at=f.AT)
    for model, row in ((Structure, structure), (System, system), (Part, part)):
        bulk.insert(model, [row])
    kept = Part.objects.select_related("system__structure").get()
    assert (kept.system.structure.name, kept.structure_id) == ("Hall", structure.pk)


@pytest.mark.django_db(transaction=True)
def test_it_wants_the_transaction_of_an_act() -> None:
    with pytest.raises(transaction.TransactionManagementError):
        bulk.insert(Structure, [])
