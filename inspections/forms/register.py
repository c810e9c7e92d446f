"""Editing the register: each fact read as strictly as the register's file reads it, with its unit."""

import json
from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError

from inspections.forms.times import LocalDay
from inspections.materials import material_names
from sites.actions.register import PART_FACTS, time_zones
from sites.forms.plain import PlainForm
from sites.imports.cells import (
    LENGTHS_IN_M,
    LENGTHS_IN_MM,
    CellFault,
    Reader,
    between,
    quantity,
    section,
    text,
)
from sites.models import Firm, Paper, Part, PartKind, ProtectionClass, Quantity, SystemKind
from sites.ordering import NUMBER_LENGTH

YES_NO = (("yes", "yes"), ("no", "no"))
LONGEST_CELL = 600


def _else(sentence: str) -> dict[str, str]:
    return {"required": sentence}


class CellField(forms.CharField):
    """Text read by one of the register file's own readers. unit: written behind a stored figure"""

    def __init__(self, reader: Reader, *, unit: str = "", empty: Any = "", **more: Any) -> None:
        self.reader, self.unit, self.empty = reader, unit, empty
        super().__init__(max_length=LONGEST_CELL, empty_value="", **more)

    def clean(self, value: Any) -> Any:
        cell = super().clean(value)
        if not cell:
            return self.empty
        try:
            return self.reader(cell)
        except CellFault as fault:
            raise ValidationError(str(fault)) from fault

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, Decimal):
            return f"{value:f} {self.unit}".strip()
        return value


def _words(label: str, longest: int, sentence: str = "", **more: Any) -> CellField:
    return CellField(
        text(longest), label=label, required=bool(sentence), error_messages=_else(sentence), **more
    )


def _length(label: str, example: str) -> CellField:
    return CellField(
        quantity(LENGTHS_IN_M, example), label=label, required=False, unit="m", empty=None,
        help_text=f"With its unit, such as {example}.",
    )  # fmt: skip


def _since(help_text: str) -> LocalDay:
    return LocalDay(
        label="Since",
        help_text=help_text,
        error_messages=_else("Give the first day on which this is so."),
    )


def _is_true(value: Any) -> bool | None:
    return {"yes": True, "no": False}.get(str(value))


def _yes_no(label: str, choices: Iterable[tuple[str, str]] = YES_NO, sentence: str = "") -> forms.Field:
    return forms.TypedChoiceField(
        label=label, choices=list(choices), coerce=_is_true, empty_value=None, widget=forms.RadioSelect,
        error_messages=_else(sentence or "Choose yes or no."),
    )  # fmt: skip


def _choice(label: str, choices: Iterable[tuple[str, str]], sentence: str) -> forms.ChoiceField:
    return forms.ChoiceField(
        label=label,
        choices=[("", "Choose"), *choices],
        error_messages=_else(sentence),
    )


def _shown(value: Any) -> Any:
    """A stored fact as its field shows it."""
    return {True: "yes", False: "no"}[value] if isinstance(value, bool) else value


class ChangeForm(PlainForm):
    """Facts of one thing; ``since`` always comes last.

    now: the thing as it stands, where it is to be changed. Somebody else may change it while the form is open, so it
    carries what it showed: what was left as shown is not said, and what both changed is asked about.
    """

    since_help = "The first day on which this is so; a correction carries the day it was so from."

    def __init__(self, *args: Any, now: Any = None, **kwargs: Any) -> None:
        self.left: set[str] = set()
        self.held = {} if now is None else {
            name: _shown(getattr(now, name)) for name in self.base_fields if hasattr(now, name) and name != "since"
        }  # fmt: skip
        if now is not None:
            kwargs["initial"] = self.held | {"since": None} | kwargs.get("initial", {})
        super().__init__(*args, **kwargs)
        if "since" in self.fields:
            self.order_fields([*(name for name in self.fields if name != "since"), "since"])
        if now is not None:
            self.fields["shown"] = forms.CharField(
                required=False, widget=forms.HiddenInput, initial=lambda: json.dumps(self._stands())
            )

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        stands, were = self._stands(), _read(given.pop("shown", ""))
        typed = {name: self[name].data or "" for name in set(stands) & set(were)}
        self.left = {name for name in typed if typed[name] == were[name]}
        both = {name for name in typed.keys() - self.left if stands[name] not in (were[name], typed[name])}
        for name in both:
            self.add_error(
                name,
                f"Somebody changed this to “{self._words(name, stands[name])}” while the form was open. "
                "Record it again if yours holds.",
            )
        if both:  # sent again, it is said in the knowledge of what stands
            data: Any = self.data
            self.data = data.copy()
            self.data["shown"] = json.dumps(were | {name: stands[name] for name in both})  # type: ignore[index]
        return given

    def _stands(self) -> dict[str, str]:
        """Each fact as its control sends it where nobody touches it."""
        facts = {name: value for name, value in self.held.items() if name in self.fields}
        shown = {name: self.fields[name].prepare_value(value) for name, value in facts.items()}
        return {name: "" if value is None else str(value) for name, value in shown.items()}

    def _words(self, name: str, value: str) -> str:
        choices = dict(getattr(self.fields[name], "choices", ()))
        return str(choices.get(value, value)) or "nothing"

    def said(self) -> dict[str, Any]:
        """What was said, by column; without what was left as the form showed it."""
        return {name: value for name, value in self.cleaned_data.items() if name not in self.left}


def _read(shown: str) -> dict[str, str]:
    """What a form showed when it was sent out; nothing where it did not come back as it was."""
    try:
        held = json.loads(shown or "{}")
    except ValueError:
        return {}
    if not isinstance(held, dict):
        return {}
    return {name: value for name, value in held.items() if isinstance(value, str)}


class ClientForm(ChangeForm):
    name = _words("Name", 200, "Write the client’s name.")
    paper = forms.ChoiceField(label="Paper of reports", choices=Paper, widget=forms.RadioSelect,
                              error_messages=_else("Choose the paper."))  # fmt: skip


class NewClientForm(ClientForm):
    """firms: those the person plans for; asked for only where there are several"""

    firm = forms.ModelChoiceField(Firm.objects.none(), label="Firm", empty_label="Choose")

    def __init__(self, *args: Any, firms: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["firm"]
        field.queryset = firms
        if len(firms) == 1:
            del self.fields["firm"]
            self.only = firms[0]

    def said(self) -> dict[str, Any]:
        given = super().said()
        return {"firm": given.pop("firm", None) or self.only, **given}


class ClientChangeForm(ClientForm):
    since = _since(ChangeForm.since_help)


class SiteForm(ChangeForm):
    name = _words("Name", 200, "Write the site’s name.")
    address = _words("Address", 400)
    time_zone = forms.CharField(
        label="Time zone", max_length=64, error_messages=_else("Write the site’s time zone."),
        help_text="Days are counted in it. A name such as Europe/London or Pacific/Auckland.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )  # fmt: skip
    latitude = CellField(between(-90, 90, "The latitude"), label="Latitude", required=False, empty=None,
                         help_text="Degrees, north positive, such as 54.1203.")  # fmt: skip
    longitude = CellField(between(-180, 180, "The longitude"), label="Longitude", required=False, empty=None,
                          help_text="Degrees, east positive, such as -1.5212.")  # fmt: skip

    def clean_time_zone(self) -> str:
        name: str = self.cleaned_data["time_zone"]
        if name not in time_zones():
            raise ValidationError(
                f"“{name}” is not a known time zone. Write a name such as Europe/London or UTC."
            )
        return name

    def clean(self) -> dict[str, Any]:
        given = super().clean() or self.cleaned_data
        if "latitude" in given and "longitude" in given:
            for name, other in (("latitude", "longitude"), ("longitude", "latitude")):
                if given[name] is None and given[other] is not None:
                    self.add_error(name, "A position needs latitude and longitude.")
        return given


class SiteChangeForm(SiteForm):
    since = _since(ChangeForm.since_help)


class StructureForm(ChangeForm):
    name = _words("Name", 200, "Write the structure’s name.")
    use = _words(
        "Use", 200, "Write what it is used for.", help_text="Such as parish church, explosives store."
    )
    protection_class = _choice(
        "Protection class", ProtectionClass.choices, "Choose the class, or “no class”."
    )
    critical = _yes_no("Critical", sentence="Say whether it is critical.")
    explosion_risk = _yes_no("Explosion risk", sentence="Say whether there is a risk of explosion.")
    height_m = _length("Height", "12 m")
    roof_perimeter_m = _length("Roof perimeter", "60 m")
    since = _since("The first day on which this is so. What is due may change with it.")


class SystemForm(ChangeForm):
    kind = _choice("Kind of system", SystemKind.choices, "Choose the kind of system.")
    name = _words("Name", 200, "Write the system’s name.")


class SystemChangeForm(SystemForm):
    since = _since(ChangeForm.since_help)


# Which facts a part of each kind can have, in the order in which they are asked for.
PART_FIELDS: dict[str, tuple[str, ...]] = {
    PartKind.AIR_TERMINATION: ("material", "length_m", "section_mm2", "diameter_mm", "parallel_paths"),
    PartKind.DOWN_CONDUCTOR: ("material", "length_m", "section_mm2", "test_joint", "parallel_paths"),
    PartKind.ELECTRODE: ("material", "length_m", "section_mm2", "depth_m", "diameter_mm"),
    PartKind.SURGE_PROTECTOR: (),
    PartKind.BOND: ("from_what", "to_what", "material", "length_m", "section_mm2", "parallel_paths"),
    PartKind.BAR: ("material", "length_m", "section_mm2"),
    PartKind.NATURAL: ("material", "length_m", "section_mm2", "parallel_paths"),
}
NOBODY_SAID = ("", "nobody has said")


class PartForm(ChangeForm):
    """kind: of the part; facts that such a part cannot have are not asked for, unless the part has them"""

    name = _words("Name", 200, "Write the part’s name.", help_text="Such as down-conductor 3, main bar.")
    from_what = _words("Joins, from", 200, "Say what the bond joins: from what.")
    to_what = _words("Joins, to", 200, "Say what the bond joins: to what.")
    material = forms.ChoiceField(
        required=False, choices=lambda: [("", "not known"), *((name, name) for name in material_names())]
    )
    length_m = _length("Length", "15 m")
    section_mm2 = CellField(section, label="Section", required=False, unit="mm²", empty=None,
                            help_text="Such as 75 mm², or 25 x 3 mm for a tape.")  # fmt: skip
    depth_m = _length("Depth", "0.6 m")
    diameter_mm = CellField(quantity(LENGTHS_IN_MM, "16 mm"), label="Diameter", required=False, unit="mm",
                            empty=None, help_text="Such as 16 mm.")  # fmt: skip
    test_joint = forms.TypedChoiceField(
        label="Test joint", required=False, coerce=_is_true, empty_value=None, widget=forms.RadioSelect,
        choices=[NOBODY_SAID, ("yes", "has one that can be opened"), ("no", "has none")],
    )  # fmt: skip
    parallel_paths = forms.TypedChoiceField(
        label="Another metal path beside it", required=False, coerce=_is_true, empty_value=None,
        widget=forms.RadioSelect, choices=[NOBODY_SAID, ("yes", "known"), ("no", "none known")],
    )  # fmt: skip
    since = _since(ChangeForm.since_help)

    def __init__(self, *args: Any, kind: str, now: Part | None = None, **kwargs: Any) -> None:
        super().__init__(*args, now=now, **kwargs)
        asked = PART_FIELDS[kind]
        for name in PART_FACTS:
            if name not in asked and (now is None or getattr(now, name) in (None, "")):
                del self.fields[name]
        self.order_fields(["name", *asked])


class PointForm(ChangeForm):
    number = _words("Number", NUMBER_LENGTH, "Give the number as it stands on the label.",
                    help_text="As it stands on the label, such as 12A.")  # fmt: skip
    quantity = _choice("What is measured", Quantity.choices, "Choose what is measured.")
    place = _words("Place", 300, "Say where the point is.",
                   help_text="Such as north-east corner, 1 m above ground.")  # fmt: skip
    since = _since("The first day on which it is to be read.")


class PointPlaceForm(ChangeForm):
    place = _words("Place", 300, "Say where the point is.")
    since = _since(ChangeForm.since_help)


class RenumberForm(ChangeForm):
    number = _words("New number", NUMBER_LENGTH, "Give the number as it stands on the new label.")
    since = _since("The day on which the label was changed.")


class RetireForm(ChangeForm):
    reason = _words("Why it is no longer read", 400, "Say why the point is no longer read.",
                    help_text="Such as wall taken down, replaced by point 14.")  # fmt: skip
    on = LocalDay(label="No longer read since", error_messages=_else("Give the first day without it."),
                  help_text="The first day on which it is no longer to be read.")  # fmt: skip
