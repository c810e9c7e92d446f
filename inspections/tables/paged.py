"""Paging of tables whose rows are fetched a page at a time: see ``sites.tables.paged``."""

from sites.tables.paged import FetchedInPages, page_number, paginate

__all__ = ["FetchedInPages", "page_number", "paginate"]
