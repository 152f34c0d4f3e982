"""What to do, and in what order: the steps that return a unit to stock, and the reading that proves each."""

from netdiff.worklist.listing import worklist
from netdiff.worklist.steps import Action, Change, Expect, Proof, Step, WorkList, apply
from netdiff.worklist.words import render

__all__ = ["Action", "Change", "Expect", "Proof", "Step", "WorkList", "apply", "render", "worklist"]
