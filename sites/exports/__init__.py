"""Lists as files: any table, as it is filtered and ordered on its page, as CSV or as a workbook.

``answer.as_file`` is all that a view calls. What a column becomes in a file: ``columns``.
"""
