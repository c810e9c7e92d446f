"""How a report's frozen facts are written on a screen: the same words as on paper."""

from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from reports.facts import Amount, DefectStated
from reports.pdf import words
from sites.templatetags.downlead import reading, state

register = template.Library()


def _unglued(text: str) -> str:
    """Paper's own mark for a space that is never broken at, as a no-break space."""
    return text.replace(words.GLUE, words.NO_BREAK)


@register.filter
def iso_day(iso: str) -> SafeString:
    """`2027-03-12` as an unbroken day."""
    return format_html('<time class="nb" datetime="{}">{}</time>', iso, _unglued(words.day(iso)))


@register.filter
def iso_instant(iso: str) -> SafeString:
    """`2027-01-21T10:42:00+00:00` in the site's own time, as it stands."""
    return format_html('<time class="nb" datetime="{}">{}</time>', iso, _unglued(words.instant(iso)))


@register.filter
def amount(value: Amount) -> str:
    return words.amount(value)


@register.filter
def figure(value: Amount) -> SafeString:
    """An amount as a cell of figures: decimals under each other, the unit in its own column."""
    return reading(value.value, value.unit)


@register.filter
def prose(text: str) -> str:
    """Words with their days written out, true minus signs and unbroken quantities."""
    return _unglued(words.figures(text))


@register.filter
def signed_percent(text: str) -> str:
    """A frozen percentage, shown to a tenth: `+8.9 %`."""
    number = Decimal(text)
    step = Decimal("0.1") if abs(number) < 1000 else Decimal(1)
    return words.signed_percent(format(number.quantize(step), "f"))


@register.simple_tag
def defect_state(defect: DefectStated) -> SafeString:
    """How a defect stood, and that somebody was told of its danger."""
    if not defect.told_as_dangerous:
        return state(defect.state, family="defect")
    name = "dangerous" if defect.state == "open" else defect.state
    return state(name, f"{defect.state}, told as dangerous", "defect")


@register.filter
def sentence(text: str) -> str:
    return words.sentence(text)
