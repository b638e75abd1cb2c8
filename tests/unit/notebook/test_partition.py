"""Two benches, ways that are cut, benches that are killed: one drawn schedule of `verification.notebook_partitions`."""

from tests import postgres
from verification.notebook_partitions import BAD, schedule


def test_nothing_is_lost_or_doubled_over_a_partition(cluster: postgres.Cluster) -> None:
    found = schedule(3, cluster, seconds=3.0)
    assert found["acknowledged"] > 0
    assert not {one: found[one] for one in BAD if found[one]}, found
