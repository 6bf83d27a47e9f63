"""How allauth signs people in here."""

from allauth.account.adapter import DefaultAccountAdapter

_SECOND_FACTOR = "allauth.mfa."


class Adapter(DefaultAccountAdapter):  # type: ignore[misc]  # allauth has no types
    """A passkey is another way in, not a second step: whoever loses it still has the code."""

    def get_login_stages(self) -> list[str]:
        """Return the steps of signing in, without asking for a passkey after the code."""
        stages: list[str] = super().get_login_stages()
        return [stage for stage in stages if not stage.startswith(_SECOND_FACTOR)]
