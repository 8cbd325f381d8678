"""How often somebody may try to sign in: enough for cold fingers, too little for guessing."""

from limits import RateLimitItem, RateLimitItemPerMinute
from limits.storage import MemoryStorage
from limits.strategies import MovingWindowRateLimiter

# A pair of name and address is counted first and takes no part in the wider counts once it is used up, so that one
# device that guesses at the owner's name cannot use up what the owner's own phone has.
PAIR = RateLimitItemPerMinute(5)
ADDRESS = RateLimitItemPerMinute(20)
NAME = RateLimitItemPerMinute(100, 10)
QUESTIONS = RateLimitItemPerMinute(20)


class Tries:
    """Counts tries in memory; a restart forgets them."""

    def __init__(self) -> None:
        self._limiter = MovingWindowRateLimiter(MemoryStorage())

    def take(self, name: str, address: str) -> bool:
        """Count one try; False when it is one too many."""
        account = name.strip().casefold()[:80]
        counts: tuple[tuple[RateLimitItem, tuple[str, ...]], ...] = (
            (PAIR, (account, address)), (ADDRESS, (address,)), (NAME, (account,)),
        )  # fmt: skip
        return all(self._limiter.hit(limit, "sign-in", *key) for limit, key in counts)

    def ask(self, address: str) -> bool:
        """Count one question that a stranger wants for a passkey; False when it is one too many."""
        return self._limiter.hit(QUESTIONS, "question", address)
