"""Who may come in by token, and how every refusal is told."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404, HttpRequest, HttpResponse
from ninja import NinjaAPI
from ninja.errors import AuthenticationError, HttpError, ValidationError
from ninja.security import HttpBearer

from loamery.errors import GardenError, InputError
from loamery.web.people.limits import Limit
from loamery.web.people.models import Membership, Token, digest
from loamery.web.people.roles import Role
from loamery.web.refusals import in_words

TRIES = Limit("api", 1200, 60)
GUESSES = Limit("api-guess", 60, 600)


class ByToken(HttpBearer):
    """``Authorization: Bearer TOKEN``, of a token that may at least what a role may; looked at before anything else."""

    def __init__(self, needed: Role) -> None:
        super().__init__()
        self.needed = needed

    def authenticate(self, request: HttpRequest, token: str) -> Token | None:
        """Return the token when it still works, with its garden, person and role on the request."""
        found: Token | None = (
            Token.objects.select_related("person", "garden")
            .filter(digest=digest(token), ended_at=None, person__is_active=True, garden__removed_at=None)
            .first()
        )
        if found is None and not GUESSES.tried(str(request.META.get("REMOTE_ADDR", ""))):
            raise HttpError(429, "too many tries")
        if found is not None:
            _enter(request, found, self.needed)
        return found


def _enter(request: HttpRequest, token: Token, needed: Role) -> None:
    """Put garden, person and role of the token on the request.

    Raises
    ------
    Http404 : the token is for another garden, or its person has left.
    PermissionDenied : it may not do this.
    HttpError : too many requests.
    """
    if not TRIES.tried(str(token.pk)):
        raise HttpError(429, "too many requests")
    roles = Membership.objects.filter(person=token.person_id, garden=token.garden_id).order_by()
    role = next(iter(roles.values_list("role", flat=True)), None)
    if role is None or token.garden.slug != request.resolver_match.kwargs.get("slug"):
        raise Http404
    request.garden, request.user, request.role = token.garden, token.person, Role(min(role, token.role))
    if request.role < needed:
        raise PermissionDenied


def tell_refusals(api: NinjaAPI) -> None:
    """Answer every refusal in one shape."""

    def said(kinds: type[Exception], status: int, error: str) -> None:
        def handler(request: HttpRequest, problem: Any) -> HttpResponse:
            read = str(getattr(problem, "message", "")) if isinstance(problem, HttpError) else ""
            code = problem.status_code if isinstance(problem, HttpError) else status
            answer: HttpResponse = api.create_response(
                request, {"error": error, "read": read, "faults": []}, status=code
            )
            return answer

        api.add_exception_handler(kinds, handler)

    said(AuthenticationError, 401, "token")
    said(PermissionDenied, 403, "role")
    said(Http404, 404, "missing")
    said(RequestDataTooBig, 413, "size")
    said(HttpError, 400, "request")
    api.add_exception_handler(GardenError, lambda request, error: _faults(api, request, error.faults))
    api.add_exception_handler(InputError, lambda request, error: _faults(api, request, [error]))
    api.add_exception_handler(ValidationError, lambda request, error: _invalid(api, request, error))


def _faults(api: NinjaAPI, request: HttpRequest, faults: Any) -> HttpResponse:
    listed = [
        {
            name: in_words(value) if isinstance(value, str) else value
            for name, value in one.as_dict().items()
            if name != "error"
        }
        for one in faults
    ]
    answer: HttpResponse = api.create_response(request, {"error": "record", "read": "", "faults": listed}, status=422)
    return answer


def _invalid(api: NinjaAPI, request: HttpRequest, error: ValidationError) -> HttpResponse:
    listed = [
        {"read": str(one.get("input", ""))[:100], "where": {"column": ".".join(str(part) for part in one["loc"])},
         "expected": one["msg"], "remedy": "correct it; /api/openapi.json says what is taken"}
        for one in error.errors
    ]  # fmt: skip
    answer: HttpResponse = api.create_response(request, {"error": "request", "read": "", "faults": listed}, status=422)
    return answer
