"""Print a token that signs the person of an e-mail address in, once."""

import sys

import django

django.setup()

from network.people.models import User  # noqa: E402  # models need the settings first
from network.people.services import sign_in_link_token  # noqa: E402

print(sign_in_link_token(User.objects.get(email=sys.argv[1])))  # noqa: T201  # read by the test
