"""A device in words, from what its browser says of itself."""

BROWSERS = (
    ("Edg", "Edge"), ("OPR/", "Opera"), ("Firefox/", "Firefox"), ("CriOS", "Chrome"), ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)  # fmt: skip
SYSTEMS = (
    ("iPhone", "iPhone"), ("iPad", "iPad"), ("Android", "Android"), ("Windows", "Windows"),
    ("Mac OS X", "macOS"), ("CrOS", "ChromeOS"), ("Linux", "Linux"),
)  # fmt: skip


def device(told: str) -> str:
    """``Firefox on Windows``; the order matters, since browsers name each other.

    >>> device("Mozilla/5.0 (Windows NT 10.0; rv:140.0) Gecko/20100101 Firefox/140.0")
    'Firefox on Windows'
    >>> device("")
    'A device that does not say what it is'
    """
    browser = next((name for mark, name in BROWSERS if mark in told), "")
    system = next((name for mark, name in SYSTEMS if mark in told), "")
    if browser and system:
        return f"{browser} on {system}"
    return browser or system or "A device that does not say what it is"
