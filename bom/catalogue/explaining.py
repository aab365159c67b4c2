"""Option rules in words: why one bites, what would satisfy it and for how much, and what it takes off the list."""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from bom.catalogue.configuring import Answers, Range, Rule, configuration_of
from bom.kernel.errors import ProblemError
from bom.structure.conditions import compile_condition
from bom.structure.wording import Reference

_WORDS = (("&&", "and"), ("||", "or"), (">=", "at least"), ("<=", "at most"), (">", "over"), ("<", "under"))
_OPTION = re.compile(r"option\.(\w+)\s*(==|!=)\s*'([\w-]+)'")
_FINISH = re.compile(r"finish\s*(==|!=)\s*'([\w-]+)'")
_FIGURE = re.compile(r"(hull|model)\.(\w+?)_(mm|kg)\s*(>=|<=|>|<|==)\s*(\d+)")
_COMPARED = {">=": "at least", "<=": "at most", ">": "over", "<": "under", "==": "exactly"}


@dataclass(frozen=True)
class WayOut:
    """A choice that would satisfy a rule: "Winch: 900 kg", and what it adds to the price."""

    group: str
    choice: str
    words: str
    price: Decimal


def in_words(condition: str, catalogue: Range) -> str:
    """A condition as the order desk would say it; what is not recognised is left as it stands."""
    text = _OPTION.sub(lambda found: _option_words(found, catalogue), condition)
    text = _FINISH.sub(lambda found: f"the finish is {'not ' if found[1] == '!=' else ''}{found[2]}", text)
    text = _FIGURE.sub(
        lambda found: (
            f"the {found[1]}'s {found[2].replace('_', ' ')} is {_COMPARED[found[4]]} {found[5]} {found[3]}"
        ),
        text,
    )
    for sign, word in _WORDS:
        text = text.replace(f" {sign} ", f" {word} ")
    return text.replace("model.braked", "the model is braked").replace("colour.", "colour ")


def breaks(rule: Rule, answers: Answers, catalogue: Range) -> bool:
    """Whether the rule bites on these answers. One that cannot be worked out (a figure is missing) does not."""
    scope = configuration_of(answers, catalogue)
    if any(name.root == "hull" and scope.hull.get(name.member) is None for name in _names(rule)):
        return False
    try:
        return compile_condition(rule.when).holds(scope) and not compile_condition(rule.then).holds(scope)
    except ProblemError:
        return False


def ways_out(rule: Rule, answers: Answers, catalogue: Range) -> list[WayOut]:
    """Single choices that would satisfy the rule without breaking another, the cheapest first."""
    others = [one for one in catalogue.rules_for(answers.model) if one != rule]
    found = []
    for group, offer_choice, name, price in _alternatives(rule, answers, catalogue):
        changed = replace(answers, choices={**answers.choices, group: offer_choice})
        if not breaks(rule, changed, catalogue) and not any(
            breaks(one, changed, catalogue) and not breaks(one, answers, catalogue) for one in others
        ):
            found.append(WayOut(group, offer_choice, f"{catalogue.groups[group].name}: {name}", price))
    return sorted(found, key=lambda way: (way.price, way.group, way.choice))


def ruled_out(answers: Answers, catalogue: Range) -> dict[tuple[str, str], str]:
    """Choices that a rule would refuse beside what is chosen now, by (group, choice), each with the rule's sentence."""
    found: dict[tuple[str, str], str] = {}
    for rule in catalogue.rules_for(answers.model):
        if breaks(rule, answers, catalogue):
            continue
        for group, choice, _, _ in _alternatives(rule, answers, catalogue):
            changed = replace(answers, choices={**answers.choices, group: choice})
            if breaks(rule, changed, catalogue):
                found.setdefault((group, choice), rule.sentence)
    return found


def mended(answers: Answers, catalogue: Range) -> tuple[Answers, tuple[str, ...]]:
    """The answers with the cheapest way out of every rule that bites, and what was changed with the reason."""
    changes: list[str] = []
    for _ in range(len(catalogue.groups)):
        rule = next(
            (one for one in catalogue.rules_for(answers.model) if breaks(one, answers, catalogue)), None
        )
        ways = ways_out(rule, answers, catalogue) if rule else []
        if rule is None or not ways:
            break
        answers = replace(answers, choices={**answers.choices, ways[0].group: ways[0].choice})
        changes.append(f"with {ways[0].words}. {rule.sentence}")
    return answers, tuple(changes)


def _alternatives(rule: Rule, answers: Answers, catalogue: Range) -> Iterator[tuple[str, str, str, Decimal]]:
    """Every other choice in the groups that the rule names: group, choice, name, and the difference in price."""
    offers = catalogue.offers.get(answers.model, {})
    for group in dict.fromkeys(name.member for name in _names(rule) if name.root == "option"):
        now = offers.get((group, answers.choices.get(group, "")))
        for offer in offers.values():
            if offer.group == group and offer.choice != answers.choices.get(group):
                yield group, offer.choice, offer.name, offer.price - (now.price if now else Decimal(0))


def _names(rule: Rule) -> Iterator[Reference]:
    for text in (rule.then, rule.when):
        try:
            yield from compile_condition(text).references
        except ProblemError:
            continue


def _option_words(found: re.Match[str], catalogue: Range) -> str:
    group = catalogue.groups.get(found[1])
    choice = catalogue.choices.get(found[1], {}).get(found[3], found[3])
    name = group.name if group else found[1]
    return f"{name} is {'not ' if found[2] == '!=' else ''}“{choice}”"
