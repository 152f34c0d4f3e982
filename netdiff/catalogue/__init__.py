"""Floor 1: kinds of part, as YAML data with a loader.

>>> made = standard().make("resistor", ["20k", "50W", "10%", "wirewound"])
>>> made.value, dict(made.ratings), made.tolerance, made.words
(20000.0, {'W': 50.0}, 0.1, ('wirewound',))
>>> [lug.name for lug in standard().make("tube", ["807"]).kind.terminals]
['h1', 'g2', 'g1', 'k', 'h2', 'p']
>>> standard().make("resistor", ["10k", "charred"]).trouble.hint
'a condition goes after a comma: resistor …, charred'
"""

from netdiff.catalogue.catalogue import Catalogue, Made, standard
from netdiff.catalogue.words import Trouble

__all__ = ["Catalogue", "Made", "Trouble", "standard"]
