"""Steps of the notebook's schema, run by Alembic in the order of their numbers; a step is never edited afterwards."""
