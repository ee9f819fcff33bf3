"""Pages of people: who belongs to a garden, inviting, joining, keys for programs, the audit log."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import login
from django.core.mail import send_mail
from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from loamery.web.people.access import anyone, member, person
from loamery.web.people.forms import InvitationForm, JoinForm, SelfForm, TokenForm
from loamery.web.people.limits import MAIL, limited
from loamery.web.people.models import Audit, Invitation, Membership, Person, Token, audit, digest, new_token
from loamery.web.people.roles import CHOICES, Role


@member(Role.OWNER)
def people(request: HttpRequest) -> HttpResponse:
    """Show who belongs to the garden, open invitations, and the audit log."""
    form = InvitationForm()
    return render(request, "people.html.j2", _people(request, form))


def _people(request: HttpRequest, form: InvitationForm) -> dict[str, object]:
    garden = request.garden
    return {
        "form": form,
        "members": garden.memberships.select_related("person").order_by("-role", "pk"),
        "invitations": [one for one in garden.invitations.all() if one.is_open],
        "roles": CHOICES,
        "log": Audit.objects.filter(garden=garden).select_related("person")[:100],
    }


@member(Role.OWNER)
@require_POST
@limited(MAIL)
def invite(request: HttpRequest) -> HttpResponse:
    """Send somebody a link that lets them in once."""
    form = InvitationForm(request.POST)
    if not form.is_valid():
        return render(request, "people.html.j2", _people(request, form), status=422)
    token = new_token()
    one = form.save(commit=False)
    one.garden, one.by, one.digest = request.garden, request.user, digest(token)
    one.save()
    audit("invited", request.user, request.garden, one.email)
    link = request.build_absolute_uri(reverse("people:join", args=[token]))
    text = _("{who} invites you to the garden {garden}. This link lets you in once, within 14 days:\n\n{link}\n")
    send_mail(
        _("An invitation to {garden}").format(garden=request.garden.name.replace("\n", " ")),
        text.format(who=request.user, garden=request.garden.name, link=link), None, [one.email],
    )  # fmt: skip
    messages.success(request, _("Invited. The link was sent to {email}.").format(email=one.email))
    return redirect("people:people", request.garden.slug)


@anyone
@limited(MAIL)
def join(request: HttpRequest, token: str) -> HttpResponse:
    """Let somebody who was invited into the garden: as who they are, or as somebody new."""
    invitation = Invitation.objects.select_related("garden").filter(digest=digest(token)).first()
    if invitation is None or not invitation.is_open:
        raise Http404
    if request.user.is_authenticated:
        if request.method == "POST":
            return _joined(request, invitation, request.user)
        return render(request, "join.html.j2", {"invitation": invitation, "form": None, "known": False})
    known = Person.objects.filter(email__iexact=invitation.email).exists()
    form = JoinForm(request.POST or None, email=invitation.email)
    if not known and request.method == "POST" and form.is_valid():
        made = Person.objects.create_user(invitation.email, form.cleaned_data["name"], form.cleaned_data["password"])
        login(request, made, backend="django.contrib.auth.backends.ModelBackend")
        return _joined(request, invitation, made)
    return render(request, "join.html.j2", {"invitation": invitation, "form": form, "known": known})


def _joined(request: HttpRequest, invitation: Invitation, who: Person) -> HttpResponse:
    with transaction.atomic():
        taken = Invitation.objects.filter(pk=invitation.pk, used_at=None).update(used_at=timezone.now())
        if not taken:
            raise Http404
        there = Membership.objects.filter(person=who, garden=invitation.garden).first()
        if there is None:
            Membership.objects.create(person=who, garden=invitation.garden, role=invitation.role)
        elif there.role < invitation.role:
            there.role = invitation.role
            there.save()
    audit("joined", who, invitation.garden, invitation.email)
    return redirect("pages:today", invitation.garden.slug)


@member(Role.OWNER)
@require_POST
def change_role(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a member another role, or none; a garden keeps at least one owner."""
    one = get_object_or_404(Membership, pk=pk, garden=request.garden)
    wanted = request.POST.get("role", "")
    if wanted not in {"0", *(str(role.value) for role in Role)}:
        messages.error(request, _("Choose a role."))
        return redirect("people:people", request.garden.slug)
    with transaction.atomic():
        type(request.garden).objects.select_for_update().get(pk=request.garden.pk)
        owners = Membership.objects.filter(garden=request.garden, role=Role.OWNER)
        if one.role == Role.OWNER and int(wanted) != Role.OWNER and owners.count() == 1:
            messages.error(request, _("A garden keeps at least one owner. Make somebody else an owner first."))
            return redirect("people:people", request.garden.slug)
        if wanted == "0":
            Token.objects.filter(person=one.person, garden=request.garden, ended_at=None).update(
                ended_at=timezone.now()
            )
            one.delete()
        else:
            one.role = int(wanted)
            one.save()
    audit("role changed", request.user, request.garden, f"{one.person.email}: {wanted}")
    return redirect("people:people", request.garden.slug)


@member(Role.OWNER)
@require_POST
def withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """Take an invitation back."""
    one = get_object_or_404(Invitation, pk=pk, garden=request.garden, used_at=None)
    one.delete()
    audit("invitation withdrawn", request.user, request.garden, one.email)
    return redirect("people:people", request.garden.slug)


@member(Role.READER)
def tokens(request: HttpRequest) -> HttpResponse:
    """Show one's keys for programs and make a new one, which is shown once."""
    form = TokenForm(request.POST or None, most=request.role)
    shown = ""
    if request.method == "POST" and form.is_valid():
        shown = new_token()
        one = form.save(commit=False)
        one.person, one.garden, one.digest = request.user, request.garden, digest(shown)
        one.save()
        audit("key made", request.user, request.garden, one.name)
    mine = Token.objects.filter(person=request.user, garden=request.garden, ended_at=None)
    context = {"form": form, "tokens": mine, "shown": shown}
    return render(request, "tokens.html.j2", context, status=422 if form.errors else 200)


@member(Role.READER)
@require_POST
def end_token(request: HttpRequest, pk: int) -> HttpResponse:
    """Make one of one's keys useless."""
    one = get_object_or_404(Token, pk=pk, garden=request.garden, person=request.user, ended_at=None)
    one.ended_at = timezone.now()
    one.save(update_fields=["ended_at"])
    audit("key ended", request.user, request.garden, one.name)
    return redirect("people:tokens", request.garden.slug)


@person
def me(request: HttpRequest) -> HttpResponse:
    """Change how one is called and reads numbers."""
    form = SelfForm(request.POST or None, instance=request.user)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, _("Saved."))
        return redirect("people:me")
    return render(request, "me.html.j2", {"form": form}, status=422 if form.errors else 200)
