from django.apps import AppConfig


class ApiConfig(AppConfig):
    name = "api"
    label = "api"

    def ready(self) -> None:
        # Django's tables are known only now.
        from api.security_log import note_sign_ins

        note_sign_ins()
