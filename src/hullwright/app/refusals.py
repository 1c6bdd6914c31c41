"""What a service refuses beside wrong input: who may not, what is not there, what changed meanwhile, what is too much."""

from __future__ import annotations

from hullwright.errors import HullwrightError, NoAnswerError


class NotSignedInError(HullwrightError):
    """No session, or one that has ended."""

    kind = "not_signed_in"


class ForbiddenError(HullwrightError):
    """Signed in, but not allowed to do this."""

    kind = "forbidden"


class RevokedError(ForbiddenError):
    """The device was revoked: what it sends is kept aside, and it reads nothing."""

    kind = "revoked"


class UnknownError(HullwrightError):
    """There is no such thing, or not for this person: the two look alike on purpose."""

    kind = "unknown"


class ChangedError(HullwrightError):
    """The thing changed since it was read: nothing was overwritten."""

    kind = "changed"


class TooManyError(HullwrightError):
    """Too many tries or too much work at once; later again.

    Parameters
    ----------
    message : str
    wait : float
        Seconds after which it may be tried again.
    """

    kind = "too_many"

    def __init__(self, message: str, wait: float) -> None:
        super().__init__(message)
        self.wait = wait


class TooLargeError(HullwrightError):
    """More bytes than are taken."""

    kind = "too_large"


class MisdirectedError(HullwrightError):
    """Sent under a name or from a page that this service does not answer to."""

    kind = "misdirected"


class StoppedError(NoAnswerError):
    """A person stopped the work: what is half done is no answer."""
