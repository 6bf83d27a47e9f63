from django.db import models


class Reply(models.Model):
    """The first answer to a write, so that a retry gets it again and changes nothing."""

    pk = models.CompositePrimaryKey("scope", "key")
    # Whose key it is: a user's id, 'c:' and a shared device's, or 'public'. A key is never looked
    # up in another's scope.
    scope = models.CharField(max_length=40)
    key = models.UUIDField()
    fingerprint = models.CharField(max_length=64)
    status = models.PositiveSmallIntegerField(null=True)
    content = models.JSONField(null=True)
    made_at = models.DateTimeField(auto_now_add=True)
