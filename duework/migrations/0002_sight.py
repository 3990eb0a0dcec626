"""Who holds what, how late it was done, what people decided, and figures of purged rows."""

from django.db import migrations, models


def fill_wanted_at(apps, schema_editor):
    """Rows of before were wanted when they are due; the back-off of a failing one is lost."""
    rows = apps.get_model("duework", "WorkItem").objects.all()
    rows.update(wanted_at=models.F("due_at"))


class Migration(migrations.Migration):

    dependencies = [
        ('duework', '0001_initial'),
    ]

    operations = [
        migrations.CreateModel(
            name='Ruling',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('item_id', models.UUIDField(db_index=True)),
                ('dedupe_key', models.CharField(max_length=200)),
                ('kind', models.CharField(max_length=80)),
                ('word', models.CharField(choices=[('retry', 'try again'), ('drop', 'drop')], max_length=10)),
                ('reason', models.CharField(max_length=500)),
                ('ruled_by', models.CharField(max_length=150)),
                ('ruled_at', models.DateTimeField()),
                ('state_before', models.CharField(max_length=10)),
                ('attempts_before', models.PositiveSmallIntegerField()),
                ('error_before', models.TextField(blank=True)),
            ],
            options={
                'ordering': ['-ruled_at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='Tally',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(max_length=80)),
                ('bound_s', models.FloatField()),
                ('done', models.PositiveBigIntegerField(default=0)),
                ('late_s', models.FloatField(default=0.0)),
                ('attempts', models.PositiveBigIntegerField(default=0)),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('kind', 'bound_s'), name='duework_one_tally_a_bound')],
            },
        ),
        migrations.AddField(
            model_name='workitem',
            name='held_by',
            field=models.CharField(blank=True, default='', max_length=120),
        ),
        migrations.AddField(
            model_name='workitem',
            name='late_s',
            field=models.FloatField(null=True),
        ),
        migrations.AddField(
            model_name='workitem',
            name='wanted_at',
            field=models.DateTimeField(null=True),
        ),
        migrations.RunPython(fill_wanted_at, migrations.RunPython.noop),
        migrations.AlterField(
            model_name='workitem',
            name='wanted_at',
            field=models.DateTimeField(),
        ),
        migrations.RemoveIndex(
            model_name='workitem',
            name='duework_state_due_at',
        ),
        migrations.AddIndex(
            model_name='workitem',
            index=models.Index(fields=['state', 'due_at', 'id'], name='duework_state_due_at'),
        ),
    ]
