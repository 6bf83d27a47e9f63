from django.db import migrations


class Migration(migrations.Migration):
    """A range type over ids, so that an exclusion constraint can compare a vehicle for equality."""

    initial = True
    dependencies = []

    operations = [
        migrations.RunSQL("CREATE TYPE uuidrange AS RANGE (subtype = uuid)", "DROP TYPE uuidrange")
    ]
