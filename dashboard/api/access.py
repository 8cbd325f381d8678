"""Who may use the API: whoever is signed in with a role, or a program with a token for that very thing.

A token opens only what names a scope here; every other route asks for a person and refuses it.
"""

from collections.abc import Iterator
from typing import Annotated

from fastapi import Depends, HTTPException, Request

from dashboard.errors_shown import Trouble
from dashboard.people.person import Person, Role, Who
from dashboard.people.tokens import WHAT, Scope, Token
from dashboard.visit import Rule, Visit


class ApiRule(Rule):
    """Lets in a role, or a token with a scope; a scope of None is any."""

    def __init__(self, role: Role, scope: Scope | None) -> None:
        super().__init__(role)
        self.scope = scope

    def __call__(self, request: Request) -> Iterator[Visit]:
        token: Token | None = request.state.token
        if token is None:
            yield from super().__call__(request)
            return
        if not token.may(self.scope):
            asked = WHAT[self.scope] if self.scope else ""
            raise HTTPException(403, Trouble(403, "This token may not do that.", f"Make one that may: {asked}."))
        visit = Visit(request, Who(Person("", f"program {token.name}", "anyone"), ""))
        try:
            yield visit
        finally:
            visit.close()


def token_of(visit: Visit) -> Token | None:
    """The token with which a program asks, None when a person does."""
    token: Token | None = visit.request.state.token
    return token


ApiReader = Annotated[Visit, Depends(ApiRule("guest", "read"))]
ApiExporter = Annotated[Visit, Depends(ApiRule("guest", "export"))]
ApiWriter = Annotated[Visit, Depends(ApiRule("helper", "write"))]
EITHER = Depends(ApiRule("guest", None))
