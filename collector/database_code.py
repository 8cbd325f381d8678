"""What SQLite itself calls a trouble: one text, "disk I/O error", stands for some thirty different ones.

It goes into the log alone; people are told what to do instead.
"""

NO_CODE = "-"


def database_code(error: BaseException | None) -> str:
    """SQLite's own name of a trouble, found in the error, in what a library wrapped around it, or in its cause.

    Returns:
        A name like `SQLITE_IOERR_SHORT_READ` (sqlite.org/rescode.html lists them), "-" where SQLite said nothing.
    """
    while error is not None:
        name = getattr(error, "sqlite_errorname", None) or getattr(
            getattr(error, "orig", None), "sqlite_errorname", None
        )
        if name is not None:
            return str(name)
        error = error.__cause__
    return NO_CODE
