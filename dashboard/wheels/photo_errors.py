"""Why a photo is not taken in, as a sentence for the person who sent it."""

from collector.errors import EntryRefused


class PhotoRefused(EntryRefused):
    """A file that is no photo, or one that cannot be taken in; `reason` is a word that the child and we share."""

    def __init__(self, reason: str, **facts: object) -> None:
        super().__init__("photo", REASONS.get(reason, REASONS["broken"]).format(**facts))
        self.reason = reason


REASONS: dict[str, str] = {
    "blank": "the file is empty",
    "bytes": "the file must be at most {limit_mb} MB, got {got_mb:.1f} MB",
    "kind": "the file is not a JPEG, PNG, WebP or HEIC photo",
    "pixels": "the photo must have at most {limit_mp} million pixels, got {got_mp:.0f} million",
    "size": "the photo must be at least {least} pixels each way, got {width} by {height}",
    "broken": "the photo cannot be read; it may have been cut off on the way",
    "memory": "the photo needs more memory than it is given; send a smaller one",
    "time": "the photo took too long to read; send a smaller one",
}
