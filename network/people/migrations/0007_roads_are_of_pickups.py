"""Keep a community's roads once, with the ways that go along them, not in every community's row.

Nothing but the demo could have a map here, and it brings its roads anew.
"""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("people", "0006_trail_is_append_only")]

    operations = [migrations.RemoveField(model_name="community", name="road_map")]
