"""Large studies of parameters: axes, designs, chunks of candidates, workers near and far, one table in the end."""

from polepiece.study.axis import Axis, parse_axis
from polepiece.study.columns import Column, columns_of
from polepiece.study.design import DESIGNS
from polepiece.study.kept_parts import PartsFolder
from polepiece.study.plan import StudyPlan, plan_study
from polepiece.study.run import Lost, run_study
from polepiece.study.setup import Setup
from polepiece.study.worker import compute_chunk
from polepiece.study.workers import Cluster, Workers
