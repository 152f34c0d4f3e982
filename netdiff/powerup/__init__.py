"""The first power-up of a set in stages: what may come next, what it must read, and a log of what it did read.

Nothing here says that a unit is safe. It says in what order the trade brings a set up, and when to stop.
"""

from netdiff.powerup.anatomy import Anatomy, anatomy
from netdiff.powerup.plan import Plan, plan
from netdiff.powerup.stages import Ask, Stage

__all__ = ["Anatomy", "Ask", "Plan", "Stage", "anatomy", "plan"]
