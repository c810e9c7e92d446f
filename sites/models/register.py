"""The register: firm, clients, sites, structures, systems, parts and test points."""

from collections.abc import Collection
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Q

from sites.fields import ExactDecimalField
from sites.models.fact import Fact, Record
from sites.models.people import WHOLE_FIRM_ROLES, Membership, Person, Scope, SystemKind
from sites.ordering import KEY_LENGTH, NUMBER_LENGTH


class Paper(models.TextChoices):
    A4 = "A4", "A4"
    LETTER = "Letter", "Letter"


class Firm(Record):
    """The inspection contractor. Nothing crosses a firm."""

    name = models.CharField(max_length=200, unique=True)
    address = models.CharField(max_length=400)
    accreditation = models.CharField(max_length=400, default="No accreditation is claimed for this report.")

    def __str__(self) -> str:
        return self.name


class ClientQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "ClientQuerySet":
        """Clients of whom this person may see at least one site on that day, or the client itself."""
        return self.filter(
            Q(firm__in=firms_wholly_visible_to(person, on))
            | Q(pk__in=_scopes(person, on).values("client"))
            | Q(sites__in=_scopes(person, on).values("site"))
        ).distinct()


class Client(Record):
    firm = models.ForeignKey(Firm, models.PROTECT, related_name="clients")
    name = models.CharField(max_length=200)
    paper = models.CharField(max_length=6, choices=Paper, default=Paper.A4)

    objects = ClientQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["firm", "name"], name="client_name_once_a_firm")]

    def __str__(self) -> str:
        return self.name


class SiteQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date, roles: Collection[str] | None = None) -> "SiteQuerySet":
        """Sites this person may see on that day. Every lookup of something at a site starts here.

        roles: only what one of these roles reaches; left out, whatever any of them does
        """
        scopes = _scopes(person, on, roles)
        return self.filter(
            Q(client__firm__in=firms_wholly_visible_to(person, on, roles))
            | Q(client__in=scopes.values("client"))
            | Q(pk__in=scopes.values("site"))
        )


def firms_wholly_visible_to(
    person: Person, on: date, roles: Collection[str] | None = None
) -> models.QuerySet:
    """Ids of the firms in which a membership of this person (in one of the roles) reaches every client."""
    wanted = [role for role in WHOLE_FIRM_ROLES if roles is None or role in roles]
    return Membership.objects.on(on).filter(person=person, role__in=wanted).values("firm")


def _scopes(person: Person, on: date, roles: Collection[str] | None = None) -> models.QuerySet:
    held = Membership.objects.on(on)
    if roles is not None:
        held = held.filter(role__in=roles)
    return Scope.objects.on(on).filter(membership__person=person, membership__in=held)


class SiteFacts(models.Model):
    """What is said of a site and may change with time."""

    address = models.CharField(max_length=400, blank=True)
    latitude = ExactDecimalField(null=True, blank=True)
    longitude = ExactDecimalField(null=True, blank=True)
    time_zone = models.CharField(max_length=64)

    class Meta:
        abstract = True


class Site(Record, SiteFacts):
    """A place with one address and one time zone; civil dates are reckoned in that zone."""

    client = models.ForeignKey(Client, models.PROTECT, related_name="sites")
    name = models.CharField(max_length=200)

    objects = SiteQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["client", "name"], name="site_name_once_a_client")]

    def __str__(self) -> str:
        return self.name

    def day_at(self, at: datetime) -> date:
        """The civil day at the site at that instant."""
        return at.astimezone(ZoneInfo(self.time_zone)).date()


class SiteDetail(Fact, SiteFacts):
    """The facts of a site since a day, from its first change on: the first two rows are before and after it."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="details")
    since = models.DateField()


class ProtectionClass(models.TextChoices):
    I = "I", "class I"  # noqa: E741
    II = "II", "class II"
    III = "III", "class III"
    IV = "IV", "class IV"
    NONE = "none", "no class"


class StructureFacts(models.Model):
    """What is said of a structure and may change with time."""

    use = models.CharField(max_length=200)
    protection_class = models.CharField(max_length=4, choices=ProtectionClass)
    critical = models.BooleanField(default=False)
    explosion_risk = models.BooleanField(default=False)
    roof_perimeter_m = ExactDecimalField(null=True, blank=True)
    height_m = ExactDecimalField(null=True, blank=True)

    class Meta:
        abstract = True


class StructureQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "StructureQuerySet":
        """Structures at sites this person may see on that day."""
        return self.filter(site__in=Site.objects.visible_to(person, on=on).values("pk"))


class Structure(Record, StructureFacts):
    """A building or other thing with systems on it. The facts here are those of the latest ``StructureDetail``."""

    site = models.ForeignKey(Site, models.PROTECT, related_name="structures")
    name = models.CharField(max_length=200)

    objects = StructureQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [models.UniqueConstraint(fields=["site", "name"], name="structure_name_once_a_site")]

    def __str__(self) -> str:
        return self.name


class StructureDetail(Fact, StructureFacts):
    """The facts of a structure since a day. The row recorded last among those of the latest day holds."""

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="details")
    since = models.DateField()


class OfStructureQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "OfStructureQuerySet":
        """Systems or parts of structures this person may see on that day."""
        return self.filter(structure__in=Structure.objects.visible_to(person, on=on).values("pk"))


class System(Record):
    structure = models.ForeignKey(Structure, models.PROTECT, related_name="systems")
    kind = models.CharField(max_length=24, choices=SystemKind)
    name = models.CharField(max_length=200)

    objects = OfStructureQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["structure", "name"], name="system_name_once_a_structure")
        ]

    def __str__(self) -> str:
        return self.name


class PartKind(models.TextChoices):
    AIR_TERMINATION = "air-termination", "air termination"
    DOWN_CONDUCTOR = "down-conductor", "down-conductor"
    ELECTRODE = "earth electrode", "earth electrode"
    SURGE_PROTECTOR = "surge protector", "surge protector"
    BOND = "bond", "bond"
    BAR = "bonding bar", "bonding bar"
    NATURAL = "natural component", "natural component"


class PartFacts(models.Model):
    """What is said of a part and may change with time.

    length_m, section_mm2: of the conductor, for bonds, down-conductors and horizontal electrodes
    depth_m, diameter_mm: of an electrode
    from_what, to_what: what a bond joins
    test_joint: whether a down-conductor has a joint that can be opened for measuring
    parallel_paths: whether another metal path is known beside it; None where nobody has said
    """

    material = models.CharField(max_length=60, blank=True)
    length_m = ExactDecimalField(null=True, blank=True)
    section_mm2 = ExactDecimalField(null=True, blank=True)
    depth_m = ExactDecimalField(null=True, blank=True)
    diameter_mm = ExactDecimalField(null=True, blank=True)
    from_what = models.CharField(max_length=200, blank=True)
    to_what = models.CharField(max_length=200, blank=True)
    test_joint = models.BooleanField(null=True, blank=True)
    parallel_paths = models.BooleanField(null=True, blank=True)

    class Meta:
        abstract = True


class Part(Record, PartFacts):
    """A part of a system. The facts here are those of the latest ``PartDetail``."""

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="parts")
    system = models.ForeignKey(System, models.PROTECT, related_name="parts")
    kind = models.CharField(max_length=24, choices=PartKind)
    name = models.CharField(max_length=200)

    objects = OfStructureQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["structure", "name"], name="part_name_once_a_structure"),
            models.CheckConstraint(
                condition=~Q(kind="bond") | (~Q(from_what="") & ~Q(to_what="")),
                name="bond_joins_two_things",
                violation_error_message="Say what the bond joins: from what and to what.",
            ),
            models.CheckConstraint(
                condition=Q(test_joint__isnull=True) | Q(kind="down-conductor"),
                name="test_joint_on_down_conductor",
                violation_error_message="Only a down-conductor has a test joint.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class PartDetail(Fact, PartFacts):
    """The facts of a part since a day. The row recorded last among those of the latest day holds."""

    part = models.ForeignKey(Part, models.PROTECT, related_name="details")
    since = models.DateField()


class Quantity(models.TextChoices):
    BOND = "bond", "bond"
    JOINT = "joint", "joint"
    CONTINUITY = "continuity", "continuity"
    EARTH = "earth", "earth electrode"
    EARTH_SYSTEM = "earth-system", "earth-termination system"


class TestPointQuerySet(models.QuerySet):
    def visible_to(self, person: Person, *, on: date) -> "TestPointQuerySet":
        """Points of structures this person may see on that day."""
        return self.filter(structure__in=Structure.objects.visible_to(person, on=on).values("pk"))

    def standing_on(self, day: date) -> "TestPointQuerySet":
        """Points that are to be read on that day: set up by then and not retired before it."""
        return self.filter(Q(retired_on__isnull=True) | Q(retired_on__gt=day), since__lte=day)


class TestPoint(Record):
    """Where a reading is taken. The identity never changes; the number may (see ``PointNumber``).

    number, number_order: the number in force, and its natural order
    since, retired_on: the first day it is to be read, and the first day it is no longer
    """

    __test__ = False  # not a test class, whatever its name looks like

    structure = models.ForeignKey(Structure, models.PROTECT, related_name="points")
    part = models.ForeignKey(Part, models.PROTECT, related_name="points")
    quantity = models.CharField(max_length=16, choices=Quantity)
    place = models.CharField(max_length=300)
    number = models.CharField(max_length=NUMBER_LENGTH)
    number_order = models.CharField(max_length=KEY_LENGTH)
    since = models.DateField()
    retired_on = models.DateField(null=True, blank=True)

    objects = TestPointQuerySet.as_manager()

    class Meta:
        ordering = ["number_order", "pk"]
        indexes = [models.Index(fields=["structure", "number_order"], name="point_in_order")]
        constraints = [
            models.UniqueConstraint(
                fields=["structure", "number"],
                condition=Q(retired_on__isnull=True),
                name="point_number_once_a_structure",
            )
        ]

    def __str__(self) -> str:
        return self.number


class PointNumber(Fact):
    """The number a point carries since a day; the row recorded last among those of the latest day holds."""

    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="numbers")
    number = models.CharField(max_length=NUMBER_LENGTH)
    number_order = models.CharField(max_length=KEY_LENGTH)
    since = models.DateField()

    class Meta:
        ordering = ["since", "recorded_at", "pk"]
        indexes = [models.Index(fields=["number"], name="number_search")]


class PointDetail(Fact):
    """Where a point is since a day, from its first change on: the first two rows are before and after it."""

    point = models.ForeignKey(TestPoint, models.PROTECT, related_name="details")
    place = models.CharField(max_length=300)
    since = models.DateField()
