"""From the tree of one shape to the statements of its lines: one function for each rule of the grammars.

Each takes the tree, in which every leaf holds the index of a word, and returns a function that makes
the statement from a line's words. What can be worked out from the shape alone is worked out once.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from lark import Token, Tree

from netdiff.circuit import Place
from netdiff.language import statements as st
from netdiff.language.lexing import short_name, unquoted

Words = Sequence[str]
Plan = Callable[[Words, Place], st.Statement]
_Tree = Tree[Token]

_FORMS: Final = {"TERMINAL": "T", "NAME": "N", "DESIGNATOR": "D", "PASS": "P", "QUERY": "?", "OPEN": "O", "TEXT": "X"}


def _leaves(tree: _Tree, *without: str) -> tuple[int, ...]:
    """Indices of the words that stand directly under a rule, but for some classes."""
    return tuple(
        child.value
        for child in tree.children
        if isinstance(child, Token) and short_name(child.type) not in ("_DASH", *without)
    )


def _forms(tree: _Tree) -> str:
    return "".join(_FORMS[short_name(child.type)] for child in tree.children if isinstance(child, Token))


def _only(tree: _Tree, name: str) -> tuple[int, ...]:
    """Indices of the words of one class directly under a rule."""
    return tuple(child.value for child in tree.children if isinstance(child, Token) and short_name(child.type) == name)


def _under(tree: _Tree, name: str) -> list[_Tree]:
    return [child for child in tree.children if isinstance(child, Tree) and short_name(child.data) == name]


def _text(indices: tuple[int, ...]) -> Callable[[Words], str]:
    if not indices:
        return lambda words: ""
    index = indices[0]
    return lambda words: unquoted(words[index])


def _branch(tree: _Tree, name: str) -> tuple[int, ...]:
    """Indices of the words under the first such branch; empty if there is none."""
    branches = _under(tree, name)
    return _leaves(branches[0]) if branches else ()


def _attribute(tree: _Tree) -> Callable[[Words], st.Attribute]:
    leaves = _leaves(tree)
    match short_name(tree.data):
        case "text":
            return lambda words: st.Attribute(text=unquoted(words[leaves[0]]))
        case "braid":
            return lambda words: st.Attribute(braid=(words[leaves[0]], words[leaves[1]]))
        case "distance":
            return lambda words: st.Attribute(tuple([words[i] for i in leaves[:-1]]), to=words[leaves[-1]])
        case _:
            return lambda words: st.Attribute(tuple([words[i] for i in leaves]))


def _attributes(tree: _Tree) -> Callable[[Words], tuple[st.Attribute, ...]]:
    plans = [
        _attribute(child)
        for child in tree.children
        if isinstance(child, Tree) and short_name(child.data) in ("text", "braid", "distance", "words")
    ]
    if not plans:
        return lambda words: ()
    return lambda words: tuple([plan(words) for plan in plans])


def _ground(tree: _Tree) -> Plan:
    (name,) = _leaves(tree)
    return lambda words, place: st.Ground(place, words[name])


def _use(tree: _Tree) -> Plan:
    path = _text(_leaves(tree))
    return lambda words, place: st.Use(place, path(words))


def _zone(tree: _Tree) -> Plan:
    name, title = _leaves(tree)[0], _text(_only(tree, "TEXT"))
    return lambda words, place: st.ZoneLine(place, words[name], title(words))


def _part(tree: _Tree) -> Plan:
    designator, *rest = _leaves(tree, "TEXT")
    label, attributes = _text(_only(tree, "TEXT")), _attributes(tree)
    return lambda words, place: st.PartLine(
        place, words[designator], tuple([words[i] for i in rest]), label(words), attributes(words)
    )


def _winding(tree: _Tree) -> Plan:
    designator, *terminals = _leaves(tree)
    attributes = _attributes(tree)
    return lambda words, place: st.WindingLine(
        place, words[designator], tuple([words[i] for i in terminals]), attributes(words)
    )


def _net(tree: _Tree) -> Plan:
    name, *rest = _leaves(tree)
    attributes = _attributes(tree)
    return lambda words, place: st.NetLine(place, words[name], tuple([words[i] for i in rest]), attributes(words))


def _chain(tree: _Tree) -> Plan:
    items = _leaves(tree)
    forms = "".join(
        _FORMS[short_name(child.type)]
        for child in tree.children
        if isinstance(child, Token) and short_name(child.type) != "_DASH"
    )
    attributes = _attributes(tree)
    conductor = _branch(tree, "conductor")
    if conductor:
        word = conductor[0]
        return lambda words, place: st.Chain(
            place, words[word], tuple([words[i] for i in items]), forms, attributes(words)
        )
    return lambda words, place: st.Chain(place, "", tuple([words[i] for i in items]), forms, attributes(words))


def _insulated(tree: _Tree) -> Plan:
    leaves = _leaves(tree)
    return lambda words, place: st.Insulated(place, tuple([words[i] for i in leaves]))


def _state(tree: _Tree) -> Plan:
    name, title = _only(tree, "NAME")[0], _text(_only(tree, "TEXT"))
    settings = [(_leaves(branch)[:-1], _leaves(branch)[-1]) for branch in _under(tree, "setting")]
    modes = [_leaves(branch) for branch in _under(tree, "mode")]
    return lambda words, place: st.StateLine(
        place,
        words[name],
        title(words),
        tuple([(words[i], words[position]) for parts, position in settings for i in parts]),
        tuple([" ".join([words[i] for i in mode]) for mode in modes]),
    )


def _reading(tree: _Tree) -> Plan:
    leaves = _leaves(tree)
    quantity, a = leaves[:2]
    across = _branch(tree, "across")
    (amount,) = _under(tree, "amount")
    values, more = _only(amount, "VALUE"), bool(_only(amount, "MORE"))
    state = leaves[2] if len(leaves) > 2 else None
    return lambda words, place: st.ReadingLine(
        place,
        words[quantity],
        words[a],
        words[across[0]] if across else "",
        more,
        tuple([words[i] for i in values]),
        "" if state is None else words[state],
    )


def _stock(tree: _Tree) -> Plan:
    title = _text(_leaves(tree))
    return lambda words, place: st.StockHead(place, title(words))


def _drawing(tree: _Tree) -> Plan:
    sheet = _text(_only(tree, "TEXT"))
    remarks = [_leaves(branch) for branch in _under(tree, "remark")]
    return lambda words, place: st.Drawing(
        place, sheet(words), tuple([tuple([words[i] for i in remark]) for remark in remarks])
    )


def _load(tree: _Tree) -> Plan:
    amps, a, b, state = _leaves(tree)
    return lambda words, place: st.LoadLine(place, words[amps], words[a], words[b], words[state])


def _signal(tree: _Tree) -> Plan:
    name, *points = _leaves(tree)
    return lambda words, place: st.SignalLine(place, words[name], tuple([words[i] for i in points]))


def _production(tree: _Tree) -> Plan:
    name, title = _leaves(tree)[0], _text(_only(tree, "TEXT"))
    return lambda words, place: st.Production(place, words[name], title(words))


def _for_some(tree: _Tree) -> Plan:
    names = _leaves(tree)
    (branch,) = _under(tree, "statement")
    inner = branch.children[0]
    assert isinstance(inner, Tree)
    plan = PLANS[short_name(inner.data)](inner)
    return lambda words, place: st.Only(place, tuple([words[i] for i in names]), plan(words, place))


def _found(tree: _Tree) -> Plan:
    title, stock = _leaves(tree)
    productions = _branch(tree, "variants")
    return lambda words, place: st.FoundHead(
        place, unquoted(words[title]), unquoted(words[stock]), tuple([words[i] for i in productions])
    )


def _inspected(tree: _Tree) -> Plan:
    (date,) = _leaves(tree)
    return lambda words, place: st.Inspected(place, words[date])


def _by(tree: _Tree) -> Plan:
    who = _text(_leaves(tree))
    return lambda words, place: st.By(place, who(words))


def _traced(tree: _Tree) -> Plan:
    targets, but = _leaves(tree), _branch(tree, "but")
    as_drawn = short_name(tree.data) == "as_drawn"
    return lambda words, place: st.Traced(
        place, tuple([words[i] for i in targets]), tuple([words[i] for i in but]), as_drawn
    )


def _missing(tree: _Tree) -> Plan:
    what, designators = _only(tree, "NAME"), _only(tree, "DESIGNATOR")
    return lambda words, place: st.Missing(
        place, words[what[0]] if what else "", tuple([words[i] for i in designators])
    )


def _landing(tree: _Tree) -> Plan:
    lug, *items = _leaves(tree)
    forms = _forms(tree)[1:]
    return lambda words, place: st.Landing(place, words[lug], tuple([words[i] for i in items]), forms)


def _condition(tree: _Tree) -> Plan:
    (terminal,) = _leaves(tree)
    attributes = _attributes(tree)
    return lambda words, place: st.ConditionLine(place, words[terminal], attributes(words))


def _observed(tree: _Tree) -> Plan:
    signal, at, what = _leaves(tree)
    return lambda words, place: st.Observed(place, words[signal], words[at], words[what])


def _photo(tree: _Tree) -> Plan:
    path, *more = _only(tree, "TEXT")
    text, targets = _text(tuple(more)), _branch(tree, "of")
    return lambda words, place: st.Photo(place, unquoted(words[path]), tuple([words[i] for i in targets]), text(words))


def _keep(tree: _Tree) -> Plan:
    targets, reason = _leaves(tree, "TEXT"), _text(_only(tree, "TEXT"))
    return lambda words, place: st.Keep(place, tuple([words[i] for i in targets]), reason(words))


def _note(tree: _Tree) -> Plan:
    targets, text = _leaves(tree, "TEXT"), _text(_only(tree, "TEXT"))
    return lambda words, place: st.Note(place, tuple([words[i] for i in targets]), text(words))


PLANS: Final[dict[str, Callable[[_Tree], Plan]]] = {
    "ground": _ground, "use": _use, "zone": _zone, "part": _part, "winding": _winding, "net": _net,
    "chain": _chain, "run": _chain, "insulated": _insulated, "state": _state, "reading": _reading,
    "stock": _stock, "drawing": _drawing, "load": _load, "signal": _signal, "production": _production,
    "only": _for_some, "found": _found, "inspected": _inspected, "by": _by, "traced": _traced,
    "as_drawn": _traced, "missing": _missing, "landing": _landing, "condition": _condition,
    "observed": _observed, "photo": _photo, "keep": _keep, "note": _note,
}  # fmt: skip
