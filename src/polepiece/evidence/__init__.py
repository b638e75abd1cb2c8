"""What was measured and heard, and what it tells of the guitar."""

from polepiece.evidence.charge_found import ChargeFound, find_charge, usual_probe
from polepiece.evidence.charge_kept import with_charge
from polepiece.evidence.coil_surface import engine_model
from polepiece.evidence.heard_of import check_heard_of, states_heard
from polepiece.evidence.learning import Narrowed, narrowed
from polepiece.evidence.measured import measured_keys, with_measured
from polepiece.evidence.meter_readings import Readings, with_readings
from polepiece.evidence.pool.constants import Pooled, pool
from polepiece.evidence.pool.observed import Proven
from polepiece.evidence.proof import Evidence, heard_claim, prove
from polepiece.evidence.tabled import Tabled, both_sides, metered_inductance, tabled
