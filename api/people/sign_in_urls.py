"""The parts of allauth's headless API that Millrace uses: codes by e-mail, and no passwords."""

from typing import Any

from allauth.account.models import EmailAddress
from allauth.headless.account import views
from allauth.headless.constants import Client
from allauth.headless.usersessions.views import SessionsView
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


_VIEWS = {
    "signup": views.SignupView,
    "email/verify": views.VerifyEmailView,
    "code/request": views.RequestLoginCodeView,
    "code/confirm": ConfirmCodeView,
    "session": views.SessionView,
    # One's devices: a list, and signing out any of them, or all.
    "sessions": SessionsView,
}

urlpatterns = [
    path(f"browser/v1/auth/{at}", view.as_api_view(client=Client.BROWSER))
    for at, view in _VIEWS.items()
]
