"""The kinds of file that are kept as documents."""

from django.db import models


class Media(models.TextChoices):
    """value: the content type in which it is handed out; ``ending``: of the name it is saved under"""

    PDF = "application/pdf", "PDF"
    JPEG = "image/jpeg", "JPEG picture"
    PNG = "image/png", "PNG picture"
    CSV = "text/csv", "CSV table"
    XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", "XLSX workbook"

    @property
    def ending(self) -> str:
        return {"JPEG": "jpg"}.get(self.name, self.name.lower())

    @property
    def is_picture(self) -> bool:
        return self in (Media.JPEG, Media.PNG)
