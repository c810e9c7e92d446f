"""Rules as data: whose demand it is, where it stands, and from when until when the firm adopted it."""

from datetime import date, datetime
from decimal import Decimal

from django.db import models
from django.db.models import Exists, F, OuterRef, Q, Subquery, Value
from django.db.models.functions import Coalesce, Concat

from inspections.calculations.rods_together import single_limit_ohm
from sites.fields import ExactDecimalField, sort_column
from sites.models import (
    Client,
    Fact,
    Firm,
    Person,
    Quantity,
    Site,
    Structure,
    firms_wholly_visible_to,
)


class Author(models.TextChoices):
    LAW = "law", "law"
    LICENCE = "licence", "licence"
    INSURER = "insurer", "insurer"
    CLIENT = "client", "client"
    STANDARD = "standard", "standard"
    FIRM = "firm", "our own advice"


class SourceStatus(models.TextChoices):
    SEEN = "seen", "seen"
    REPRODUCED = "seen as reproduced", "seen as reproduced"
    MEMORY = "from memory", "from memory"
    PRACTICE = "common practice", "common practice"
    STATED = "stated by its author", "stated by its author"


class Edition(Fact):
    """One edition of one rule, as its author states it. A change is a new edition; adoption is a row of its own.

    code: names the rule within the firm. It and the place stay the same from edition to edition, so that no edition
        for one place ends what is asked at another
    client, site, structure: the place, the narrowest that is named; none of them where it stands for the whole firm
    """

    firm = models.ForeignKey(Firm, models.PROTECT, related_name="+")
    code = models.CharField(max_length=60)
    title = models.CharField(max_length=200)
    author = models.CharField(max_length=12, choices=Author)
    author_name = models.CharField(max_length=200)
    source = models.CharField(max_length=300)
    edition = models.CharField(max_length=60)
    status = models.CharField(max_length=24, choices=SourceStatus)
    note = models.CharField(max_length=400, blank=True)
    client = models.ForeignKey(Client, models.PROTECT, null=True, blank=True, related_name="+")
    site = models.ForeignKey(Site, models.PROTECT, null=True, blank=True, related_name="+")
    structure = models.ForeignKey(Structure, models.PROTECT, null=True, blank=True, related_name="+")
    explosion_risk = models.BooleanField(null=True, blank=True)

    # Added by ``EditionQuerySet.with_adoption``; None where the edition was never adopted.
    adopted_from: date | None
    adopted_until: date | None

    class Meta:
        abstract = True

    def __str__(self) -> str:
        return f"{self.title}, {self.edition}"

    @property
    def place(self) -> tuple[int | None, int | None, int | None]:
        """Ids of client, site and structure."""
        return self.client_id, self.site_id, self.structure_id


class EditionQuerySet(models.QuerySet):
    """Reads shared by limits and intervals. ``adoption``: the column of ``Adoption`` that points here."""

    adoption = ""

    def with_adoption(self, known_by: datetime | None = None) -> "EditionQuerySet":
        """Adds adopted_from and adopted_until, from the adoption recorded last (up to an instant, if given)."""
        adoptions = Adoption.objects.filter(**{self.adoption: OuterRef("pk")})
        if known_by is not None:
            adoptions = adoptions.filter(recorded_at__lte=known_by)
        latest = adoptions.order_by("-recorded_at", "-pk")
        return self.annotate(
            adopted_from=Subquery(latest.values("adopted_from")[:1]),
            adopted_until=Subquery(latest.values("adopted_until")[:1]),
        )

    def visible_to(self, person: Person, *, on: date) -> "EditionQuerySet":
        """Editions this person may see on that day; every lookup of a rule starts here. Adds the adoption.

        Who sees a whole firm sees all of its rules. Who sees some places sees what stands on a structure there,
        once it was adopted, and what a client has stated for it.
        """
        here = Structure.objects.visible_to(person, on=on).filter(
            site__client__firm=OuterRef("firm"),
            pk=Coalesce(OuterRef("structure"), F("pk")),
            site=Coalesce(OuterRef("site"), F("site")),
            site__client=Coalesce(OuterRef("client"), F("site__client")),
            explosion_risk=Coalesce(OuterRef("explosion_risk"), F("explosion_risk")),
        )
        public = Q(adopted_from__isnull=False) | Q(author=Author.CLIENT)
        return self.with_adoption().filter(
            Q(firm__in=firms_wholly_visible_to(person, on)) | (public & Exists(self.standing_on(here)))
        )

    def standing_on(self, structures: models.QuerySet) -> models.QuerySet:
        """Of these structures, those an edition (the outer row) asks about by what they are."""
        return structures

    def adopted_on(self, day: date) -> "EditionQuerySet":
        """Editions in force on a day, both end days included."""
        return self.with_adoption().filter(
            Q(adopted_until__isnull=True) | Q(adopted_until__gte=day), adopted_from__lte=day
        )


class LimitQuerySet(EditionQuerySet):
    adoption = "limit"


class IntervalQuerySet(EditionQuerySet):
    adoption = "interval"

    def standing_on(self, structures: models.QuerySet) -> models.QuerySet:
        comma = Value(",")
        classes = Concat(comma, OuterRef("classes"), comma, output_field=models.CharField())
        own = Concat(comma, F("protection_class"), comma, output_field=models.CharField())
        return structures.annotate(asked_classes=classes, own_class=own).filter(
            Q(asked_classes=",,") | Q(asked_classes__contains=F("own_class")),
            critical=Coalesce(OuterRef("critical"), F("critical")),
        )


class LimitRule(Edition):
    """An upper limit for one kind of point, and how the reading must be taken and decided.

    limit_ohm: None where the source states that no limit applies; limit_unit: how people write it
    times_per_electrode: where limit_ohm is the whole earth's: one of n electrodes may come to this times n times it;
        None where limit_ohm is the limit of what is read
    reference_temperature_c: None where the limit is as found
    methods: comma-separated, as in the case format
    """

    quantity = models.CharField(max_length=16, choices=Quantity)
    limit_ohm = ExactDecimalField(null=True, blank=True)
    limit_order = sort_column("limit_ohm")
    limit_unit = models.CharField(max_length=4, default="Ω")
    times_per_electrode = ExactDecimalField(null=True, blank=True)
    reference_temperature_c = ExactDecimalField(null=True, blank=True)
    decision = models.CharField(max_length=12)
    guard = ExactDecimalField()
    methods = models.CharField(max_length=120)
    minimum_current_a = ExactDecimalField(null=True, blank=True)
    repeats = models.PositiveSmallIntegerField(default=1)
    allowed_spread_percent = ExactDecimalField()
    open_circuit_min_v = ExactDecimalField(null=True, blank=True)
    open_circuit_max_v = ExactDecimalField(null=True, blank=True)

    # Added by who asks for the limit of one point: how many electrodes its system has.
    electrodes: int | None = None

    objects = LimitQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(times_per_electrode__isnull=True) | Q(quantity=Quantity.EARTH),
                name="limit_times_for_one_electrode",
                violation_error_message="Only the limit of one electrode can be a share of the whole earth's.",
            ),
            models.UniqueConstraint(fields=["firm", "code", "edition"], name="limit_edition_once"),
            models.CheckConstraint(
                condition=Q(decision__in=["simple", "guarded", "four-way"]), name="limit_decision_known"
            ),
        ]

    @property
    def ohm_here(self) -> Decimal | None:
        """The limit [ohm] at the point it was asked for."""
        return self.of_one(self.electrodes)

    def of_one(self, electrodes: int | None) -> Decimal | None:
        """The limit [ohm] of what was read; electrodes: how many the system has, where the rule counts them."""
        if self.times_per_electrode is None or self.limit_ohm is None or electrodes is None:
            return self.limit_ohm
        return single_limit_ohm(self.limit_ohm, electrodes, self.times_per_electrode)


def season_months(text: str) -> tuple[tuple[int, ...], ...]:
    """The months of each season of an interval as it is stored: 3,4,5;9,10,11"""
    return tuple(tuple(int(month) for month in season.split(",")) for season in text.split(";") if season)


class IntervalRule(Edition):
    """How often one demand must be met, and how the days are counted.

    classes: comma-separated protection classes it applies to; "" means any
    seasons: semicolon-separated lists of months, e.g. "3,4,5;9,10,11"
    """

    demand = models.CharField(max_length=12)
    basis = models.CharField(max_length=20)
    months = models.PositiveSmallIntegerField(null=True, blank=True)
    anchor = models.DateField(null=True, blank=True)
    period = models.CharField(max_length=10, blank=True)
    seasons = models.CharField(max_length=60, blank=True)
    use_on = models.DateField(null=True, blank=True)
    early_days = models.PositiveSmallIntegerField(default=0)
    grace_days = models.PositiveSmallIntegerField(default=0)
    classes = models.CharField(max_length=20, blank=True)
    critical = models.BooleanField(null=True, blank=True)

    objects = IntervalQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["firm", "code", "edition"], name="interval_edition_once"),
            models.CheckConstraint(
                condition=Q(demand__in=["visual", "complete", "electrical"]), name="interval_demand_known"
            ),
        ]


class Adoption(Fact):
    """The firm takes an edition into use, or ends its use, by a row. The one recorded last holds.

    adopted_until: the last day it applies; None while open
    words: why, where a reason was asked for; by: None where it was recorded before that was kept
    """

    limit = models.ForeignKey(LimitRule, models.PROTECT, null=True, related_name="adoptions")
    interval = models.ForeignKey(IntervalRule, models.PROTECT, null=True, related_name="adoptions")
    adopted_from = models.DateField()
    adopted_until = models.DateField(null=True, blank=True)
    words = models.CharField(max_length=600, blank=True)
    by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(limit__isnull=False, interval__isnull=True)
                | Q(limit__isnull=True, interval__isnull=False),
                name="adoption_of_one_edition",
            ),
            models.CheckConstraint(
                condition=Q(adopted_until__isnull=True) | Q(adopted_until__gte=models.F("adopted_from")),
                name="adoption_ends_after_it_begins",
                violation_error_message="A rule cannot end before it was adopted.",
            ),
        ]
