"""What can go wrong with a backup file."""

from collector.errors import CaveError, StoreUnavailable

# CaveError
#   BackupDamaged   file, part, reason
#   BackupAway      file, reason
#   RestoreRefused  reason
#   CopyUnderWay
#   StoreUnavailable (collector.errors)
#     NoPlaceForCopies


class BackupDamaged(CaveError):
    """A part of a backup is not what its checksum says, or cannot be read at all."""

    hint = "Nothing was restored. Take an older copy; if there is none, copy the file anew from where it came."

    def __init__(self, file: object, part: str, reason: str) -> None:
        super().__init__(f"{file} is damaged in {part}: {reason}")
        self.file, self.part, self.reason = file, part, reason


class BackupAway(CaveError):
    """A backup cannot be opened at all."""

    hint = "Look at its name; is the disk or share mounted?"

    def __init__(self, file: object, reason: str) -> None:
        super().__init__(f"{file} cannot be opened: {reason}")
        self.file, self.reason = file, reason


class RestoreRefused(CaveError):
    """The folder or the database to restore into cannot be taken."""

    hint = "Nothing was changed. Name an empty folder or one that is not there yet."

    def __init__(self, where: object, reason: str) -> None:
        super().__init__(f"cannot restore into {where}: {reason}")
        self.where, self.reason = where, reason


class CopyUnderWay(CaveError):
    """A copy is wanted while another one is being made."""

    hint = "Wait until it is there; the page of copies says when."

    def __init__(self) -> None:
        super().__init__("a copy is being made already")


class NoPlaceForCopies(StoreUnavailable):
    """Nobody has said yet where copies go."""

    hint = "Name a folder in RINDWATCH_BACKUP_FOLDER, or a second place under More, Settings, Copies."

    def __init__(self) -> None:
        super().__init__("the folder of copies", 0)
        self.reason = "no place for copies is named"

    def __str__(self) -> str:
        return self.reason
