"""Dates that nobody can misread: 12 Mar 2027."""

DATE_FORMAT = "j M Y"
SHORT_DATE_FORMAT = "j M Y"
DATETIME_FORMAT = "j M Y, H:i"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
TIME_FORMAT = "H:i"
