"""What is said of one part at a visit: seen, not seen and why, or seen with a defect."""

from typing import Any

from django import forms

from inspections.actions.looking import NewLook
from inspections.forms.times import LocalMoment, moments_at
from inspections.models import Defect, Look, NotSeen, PartLook, Urgency, Visit
from sites.forms.plain import PlainForm
from sites.models import Part

MOST_DEFECTS = 50
NOT_SEEN = "not seen, "
OUTCOMES = [
    (Look.SEEN, "Seen"),
    (Look.DEFECT, "Seen, with a defect"),
    *((f"{NOT_SEEN}{reason.value}", f"Not seen: {reason.label}") for reason in NotSeen),
]
NOTED = "only noted in the words"


class LookForm(PlainForm):
    """visit: with its structure's site; the defects offered are those of the structure, the latest first"""

    outcome = forms.ChoiceField(
        label="What can be said of it",
        choices=OUTCOMES,
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it was seen; if not, why."},
    )
    words = forms.CharField(
        label="Remark",
        required=False,
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="What is wrong with it; or what stood in the way, and what would help.",
    )
    defect = forms.ChoiceField(
        label="The defect, where there is one",
        required=False,
        help_text="Asked only of a part seen with a defect.",
    )
    looked_at = LocalMoment(label="When", error_messages={"required": "Give the day and the time."})

    def __init__(self, *args: Any, visit: Visit, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.part = part
        self.urgencies = (
            {f"new-{row.pk}": row for row in _urgencies(visit)} if visit.state == "on site" else {}
        )
        self.known = {f"known-{row.pk}": row for row in _known(visit)}
        field: Any = self.fields["defect"]
        field.choices = [
            ("", NOTED),
            *((key, f"record a new one: {row.in_words}") for key, row in self.urgencies.items()),
            *((key, f"on record: {row.place}: {row.words}"[:120]) for key, row in self.known.items()),
        ]
        moments_at(self, visit.structure.site.time_zone, ["looked_at"])

    def clean(self) -> dict[str, Any]:
        told: dict[str, Any] = super().clean() or {}
        if told.get("outcome") == Look.DEFECT and not told.get("words"):
            if not told.get("defect", "").startswith("known-"):
                self.add_error("words", "Say what is wrong with it.")
        elif told.get("outcome") and told["outcome"] != Look.DEFECT and told.get("defect"):
            self.add_error(
                "defect", "Only a part seen with a defect has one. Choose that above, or leave this."
            )
        return told

    @property
    def entry(self) -> NewLook:
        """What was said; only of a valid form."""
        told = self.cleaned_data
        outcome, reason = told["outcome"], None
        if outcome.startswith(NOT_SEEN):
            outcome, reason = Look.NOT_SEEN, NotSeen(outcome.removeprefix(NOT_SEEN))
        return NewLook(
            self.part, Look(outcome), told["looked_at"], reason, told["words"],
            defect=self.known.get(told["defect"]), urgency=self.urgencies.get(told["defect"]),
        )  # fmt: skip


class CorrectLookForm(LookForm):
    """The same, instead of an answer that stands, with the reason."""

    reason = forms.CharField(
        label="Why it is corrected",
        max_length=400,
        help_text="Such as: pressed by mistake.",
        error_messages={"required": "Say why it is corrected."},
    )
    field_order = ("reason", "outcome", "words", "defect", "looked_at")


class MomentForm(PlainForm):
    """The time that answers given by one press are kept with, where it is not now."""

    at = LocalMoment(
        label="The parts were looked at", error_messages={"required": "Give the day and the time."}
    )

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        moments_at(self, visit.structure.site.time_zone, ["at"])


def as_said(look: PartLook) -> dict[str, Any]:
    """An answer that stands, as the form takes it."""
    outcome = f"{NOT_SEEN}{look.reason}" if look.reason else look.outcome
    return {
        "outcome": outcome,
        "words": look.words,
        "defect": f"known-{look.defect_id}" if look.defect_id else "",
    }


def _urgencies(visit: Visit) -> list[Urgency]:
    rows = Urgency.objects.filter(scheme__firm=visit.firm_id).select_related("scheme")
    return list(rows.order_by("scheme", "rank"))


def _known(visit: Visit) -> list[Defect]:
    return list(
        Defect.objects.filter(structure=visit.structure_id).order_by("-found_at", "-pk")[:MOST_DEFECTS]
    )
