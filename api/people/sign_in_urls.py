"""The parts of allauth's headless API that are used here: codes and passkeys, no passwords."""

from typing import Any

from allauth.account.app_settings import EmailVerificationMethod
from allauth.account.models import EmailAddress, Login
from allauth.headless.account import views
from allauth.headless.base.response import AuthenticationResponse
from allauth.headless.constants import Client
from allauth.headless.mfa import views as mfa
from allauth.headless.usersessions.views import SessionsView
from allauth.mfa.webauthn.internal.flows import perform_passwordless_login
from django.http import HttpRequest, HttpResponse
from django.urls import path


class ConfirmCodeView(views.ConfirmLoginCodeView):  # type: ignore[misc]  # allauth has no types
    """Takes the code as the proof of an address, also of people whom an organiser brought in."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign in; without the row that allauth marks as proven it would send a second code."""
        person = self.process.user
        EmailAddress.objects.get_or_create(
            user=person, email=person.email, defaults={"primary": True}
        )
        answer: HttpResponse = super().post(request, *args, **kwargs)
        return answer


class PasskeyView(mfa.LoginWebAuthnView):  # type: ignore[misc]  # allauth has no types
    """Takes a passkey as proof enough, also of people who came by a link and proved no address."""

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Sign in; allauth would ask for a code besides."""
        passkey = self.input.cleaned_data["credential"]
        login = Login(user=passkey.user, email_verification=EmailVerificationMethod.NONE)
        perform_passwordless_login(request, passkey, login)
        answer: HttpResponse = AuthenticationResponse(request)
        return answer


_VIEWS = {
    "auth/signup": views.SignupView,
    "auth/email/verify": views.VerifyEmailView,
    "auth/code/request": views.RequestLoginCodeView,
    "auth/code/confirm": ConfirmCodeView,
    "auth/session": views.SessionView,
    # One's devices: a list, and signing out any of them, or all.
    "auth/sessions": SessionsView,
    # Passkeys: signing in by one, and one's own, to which another is added with one at hand.
    "auth/webauthn/login": PasskeyView,
    "auth/webauthn/reauthenticate": mfa.ReauthenticateWebAuthnView,
    "account/authenticators": mfa.AuthenticatorsView,
    "account/authenticators/webauthn": mfa.ManageWebAuthnView,
}

urlpatterns = [
    path(f"browser/v1/{at}", view.as_api_view(client=Client.BROWSER)) for at, view in _VIEWS.items()
]
