from netdiff.nets import Nets as Nets
from netdiff.nets import Union as Union
from netdiff.nets import circuit_nets as circuit_nets
from netdiff.nets import circuit_points as circuit_points
from netdiff.nets import joints as joints
