"""Units for tests of hazards: a drawing, lines exchanged in it, and what the rules say of the unit."""

from __future__ import annotations

from netdiff.comparison import Comparison, compare
from netdiff.comparison.results import Finding
from netdiff.hazards import examine
from netdiff.language import read_model_text, read_unit_text

STOCK = """stock "Test transmitter"
ground chassis
zone all "All"
W1 cord-3
F1 fuse 3A 250V
F2 fuse 1A 250V "plate"
S1 switch-spst off/on
S2 interlock "cabinet door"
K1 delay-relay 115Vac 30s "warm-up"
T1 transformer "heaters"
T2 transformer "plate"
V1 tube 5U4G
V2 tube 6V6GT
L1 choke 10H 70ohm
L2 choke 2.5mH 20ohm
L3 choke 2.5mH 45ohm "safety"
C1 capacitor .01u 600V Y2
C2 electrolytic 8u 600V
C3 capacitor .002u 2500V mica
R1 resistor 10k 50W "bleeder"
R2 resistor 22k 2W
J1 jack-2 "key"
J2 coax-socket "antenna"
E1 block 1 "perforated cover"
winding T1 1 -- 2, 115Vac, 5ohm
winding T1 3 -- 4, 5Vac, 0.1ohm
winding T2 1 -- 2, 115Vac, 3ohm
winding T2 3 -- 4 -- 5, 900Vac, 90ohm
net line mains 115Vac
net neutral mains
net b+ supply 400V
net out rf 3.5..7MHz 52ohm 20W
W1.L -- F1 -- S1 -- line
W1.N -- neutral
W1.E -- chassis
line -- C1 -- chassis
line -- T1.1
T1.2 -- neutral
line -- F2 -- S2 -- K1.c
line -- K1.h1
K1.h2 -- neutral
K1.no -- T2.1
T2.2 -- neutral
T1.3 -- V1.f1
T1.4 -- V1.f2
T2.3 -- V1.pa
T2.5 -- V1.pb
T2.4 -- chassis
V1.f2 -- L1 -- b+
b+ -- C2.+/- -- chassis
b+ -- R1 -- chassis
b+ -- L2 -- V2.p
b+ -- R2 -- V2.g2
V2.k -- J1.tip
J1.sleeve -- chassis
V2.p -- C3 -- out
out -- L3 -- chassis
coax C3.2 -- J2.center, cable W2, RG-58, 200mm, braid chassis -- J2.shell
J2.shell -- chassis
bolted E1.1 -- chassis
state sending "key up": S1 on, K1 on
"""
BODY = STOCK.split("20W\n", 1)[1].replace(STOCK.splitlines()[-1], "")


def compared(*changes: tuple[str, str], more: str = "", stock: tuple[tuple[str, str], ...] = ()) -> Comparison:
    """The unit wired as drawn but for lines exchanged, ``more`` in front; ``stock``: exchanged in the drawing and the
    unit alike."""
    drawing, body = STOCK, BODY
    for old, new in stock:
        assert old in drawing, old
        drawing, body = drawing.replace(old, new), body.replace(old, new)
    for old, new in changes:
        assert old in body, old
        body = body.replace(old, new)
    model, faults = read_model_text(drawing, "t.stock")
    assert model is not None, [(fault.says, fault.text) for fault in faults]
    unit, faults = read_unit_text(f'found "No. 1" of "t.stock"\ntraced all\n{more}{body}', model, "t.found")
    assert unit is not None, [(fault.says, fault.text) for fault in faults]
    return compare(unit)


def told(
    *changes: tuple[str, str], kind: str = "", more: str = "", stock: tuple[tuple[str, str], ...] = ()
) -> list[Finding]:
    """What the rules of hazards add, of one kind or of all."""
    plain = compared(*changes, more=more, stock=stock)
    examined = examine(plain)
    # The rules may add a figure to what the comparison said.
    longer = examined.findings
    known = [next(e for e in longer if e.kind == f.kind and e.says.startswith(f.says)) for f in plain.findings]
    return [one for one in longer if one not in known and (not kind or one.kind == kind)]
