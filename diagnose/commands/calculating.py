"""``diagnose calc``: the trade's calculations, a sub-command for each subject."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from diagnose.calculations import SUBJECTS, Subject
from diagnose.calculations.calculation import AnyCalculation
from diagnose.commands.calculation_tasks import TASKS, Task
from diagnose.commands.main import load
from diagnose.commands.printing import print_json
from diagnose.errors import BadInput, DiagnoseError, OutOfRange, UnitError, WrongUse
from diagnose.place import did_you_mean
from diagnose.terms import TERMS, Term, vocabulary

if TYPE_CHECKING:
    from diagnose.calculations.solving import Solution
    from diagnose.documents.calculation_types import CalculationDocument


class _Subjects(click.Group):
    """A group with one sub-command for each subject; its options are the terms that its calculations take."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return list(SUBJECTS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        return _Subject(SUBJECTS[cmd_name]) if cmd_name in SUBJECTS else None

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        for subject, tasks in TASKS.items():
            for task in tasks:
                formatter.write(f"\n{task.question}\n  diagnose calc {subject} {task.given}\n")

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and not args[0].startswith("-") and args[0] not in SUBJECTS:
            help = did_you_mean(args[0], SUBJECTS, f"the subjects are: {', '.join(SUBJECTS)}")
            raise click.UsageError(f"there is no subject `{args[0]}`; {help}", ctx)
        return super().resolve_command(ctx, args)


@click.group(cls=_Subjects)
def calc() -> None:
    """Work out what a reading should be.

    Give what you know, with units, and see everything that follows from it. What people ask for most stands
    below, with the figures of an example.

    Every result comes with its formula, the figures that went in, its source, and what the rule book says of it.
    Decimal commas are fine. An uncertainty after ± is carried through with its budget. It is taken as expanded (k = 2),
    as comparisons take it, unless --uncertainties says otherwise; results show it so, too. `diagnose calc SUBJECT
    --help` lists what follows from what, and ends in an example worked out.

    Exit status 1 if something given cannot be right, or two figures contradict each other.
    """


class _Subject(click.Command):
    """The calculations of a subject. Its options are the terms that they take, as the rule book in use has them."""

    def __init__(self, subject: Subject) -> None:
        super().__init__(subject.name, short_help=f"{_capital(subject.title)}.", callback=_run)
        self.subject = subject

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        if ctx.parent and not ctx.resilient_parsing:  # while a shell completes, the shipped vocabulary will do
            ctx.parent.with_resource(vocabulary(load(ctx).rule_book.quantities))
        self.help, self.params = _help(self.subject), [*_options(self.subject), *_HOW]
        return super().parse_args(ctx, args)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write a worked example: what it is called with, and what that prints."""
        task = TASKS[self.subject.name][0]
        try:
            printed = _example(ctx, self.subject, task, formatter.width)
        except (KeyError, DiagnoseError):  # a rule book of somebody's own may call things by other names
            return
        formatter.write(f"\n{task.question}\n  diagnose calc {self.subject.name} {task.given}\n\n{printed}")


def _example(ctx: click.Context, subject: Subject, task: Task, width: int) -> str:
    """Return what a task prints.

    Raises KeyError where the rule book in use has no such option.
    """
    from io import StringIO

    from diagnose.documents.calculation import print_calculation
    from diagnose.documents.text import make_console

    names = {name: each for each in _options(subject) for name in each.opts}
    pairs = zip(task.arguments[::2], task.arguments[1::2], strict=True)
    texts = {str(names[flag].name)[2:].replace("_", "-"): text for flag, text in pairs}
    page = StringIO()
    with vocabulary(load(ctx).rule_book.quantities):
        document, _ = _document(ctx, subject, texts, "expanded")
        print_calculation(make_console(file=page, width=width), document)
    return page.getvalue()


_HOW = (
    click.Option(
        ["--uncertainties"],
        type=click.Choice(["standard", "expanded", "limits"]),
        default="expanded",
        show_default=True,
        help="What the figure after ± is: a standard uncertainty, an expanded one (k = 2), or limits.",
    ),
    click.Option(["--format", "form"], type=click.Choice(["text", "json"]), default="text", show_default=True),
)


def _options(subject: Subject) -> list[click.Option]:
    return [_option(TERMS[name]) for name in _inputs(subject)]


def _inputs(subject: Subject) -> tuple[str, ...]:
    inputs = (name for each in subject.calculations for name in each.inputs)
    return tuple(dict.fromkeys((*inputs, *(name for name in subject.judged if name in TERMS))))


@click.pass_context
def _run(ctx: click.Context, /, form: str, uncertainties: Any, **texts: str | None) -> None:
    subject = SUBJECTS[str(ctx.command.name)]
    _answer(ctx, subject, {name: texts[_variable(name)] for name in _inputs(subject)}, form, uncertainties)


def _variable(name: str) -> str:
    return "t_" + name.replace("-", "_")


def _option(term: Term) -> click.Option:
    from diagnose.calculations.entering import example

    names = [f"--{name}" for name in (*term.short, term.id)]
    words = (
        f"{term.title}, for example {example(term)}" if not term.choices else f"{term.title}: {', '.join(term.choices)}"
    )
    return click.Option([_variable(term.id), *names], metavar="VALUE", help=words)


def _help(subject: Subject) -> str:
    lines = [f"{_capital(subject.title)}.", "", "\b", "What follows from what:"]
    lines += [f"  {each.title}: {_wants(each)}" for each in subject.calculations]
    return "\n".join(lines)


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _wants(calculation: AnyCalculation) -> str:
    required = " ".join(_flag(name) for name in calculation.required)
    optional = " ".join(f"[{_flag(name)}]" for name in calculation.defaults)
    return " ".join(filter(None, (required, optional)))


def _flag(name: str) -> str:
    return f"--{(TERMS[name].short or (name,))[0]}"


def _answer(
    ctx: click.Context, subject: Subject, texts: Mapping[str, str | None], form: str, uncertainties: Any
) -> None:
    from diagnose.documents.calculation import print_calculation
    from diagnose.documents.text import make_console

    document, solved = _document(ctx, subject, texts, uncertainties)
    if form == "json":
        print_json(document)
    else:
        print_calculation(make_console(), document)
    if solved.refused or solved.contradictions:
        ctx.exit(1)


def _document(
    ctx: click.Context, subject: Subject, texts: Mapping[str, str | None], uncertainties: Any
) -> tuple[CalculationDocument, Solution]:
    """Return all that follows from what was given, with what rules say of it.

    Raises BadInput for what cannot be read or worked out, WrongUse where nothing follows.
    """
    from diagnose.calculations.solving import solve
    from diagnose.documents.calculation import calculation_document
    from diagnose.rule_book.quantities import Limit
    from diagnose.rule_book.verdicts import verdicts

    given = _entered(texts, uncertainties)
    solved = solve({name: each for name, each in given.items() if not isinstance(each, Limit)}, subject.calculations)
    rule_book = load(ctx).rule_book
    worked = {each.calculation.name: each.result for each in solved.worked if each.calculation.gives}
    found = verdicts(rule_book, given, worked)
    if not (solved.worked or solved.contradictions or found):
        reasons = [f"{each.title}: {text}" for each, text in solved.refused]
        raise BadInput("\n".join(reasons)) if reasons else WrongUse(_nothing_follows(subject, given))
    remarks = (*_how_read(texts), *_of_uncertainty(given, uncertainties))
    return calculation_document(subject.name, given, solved, found, remarks), solved


def _entered(texts: Mapping[str, str | None], uncertainties: Any) -> dict[str, Any]:
    """Return what was given in SI units; raises BadInput with all that is wrong in it."""
    from diagnose.calculations.entering import enter

    given: dict[str, Any] = {}
    wrong: list[str] = []
    for name, text in texts.items():
        if text is None:
            continue
        try:
            reading = _reading(TERMS[name], text)
            given[name] = enter(TERMS[name], text, uncertainties) if reading is None else reading
        except DiagnoseError as error:
            wrong.append(str(error))
    if wrong:
        raise BadInput("\n       ".join(wrong))
    return given


def _reading(term: Term, text: str) -> Any:
    """Return what was given as instruments show it (``OL``, ``>200 Mohm``, ``4k7``), or None where it is not."""
    from diagnose.calculations.entering import option
    from diagnose.rule_book.quantities import Quantity
    from diagnose.rule_book.readings import read_limit, read_multiplied

    if not isinstance(term, Quantity) or not term.is_figure:
        return None
    try:
        limit = read_limit(text, term, needs_unit=True)
        ohms = read_multiplied(text, term) if limit is None else None
        if ohms is not None:
            term.check(ohms)
    except UnitError as error:
        raise UnitError(f"{option(term)} ({term.title}): {error}") from error
    except OutOfRange as error:
        raise OutOfRange(f"{option(term)}: {error}") from error
    return limit if ohms is None else ohms


def _how_read(texts: Mapping[str, str | None]) -> tuple[str, ...]:
    """Return what is to be said of how the values given were read."""
    from diagnose.calculations.entering import said_of

    return tuple(filter(None, (said_of(TERMS[name], text) for name, text in texts.items() if text is not None)))


_TAKEN = {
    "standard": "a standard uncertainty (k = 1)",
    "expanded": "an expanded uncertainty (k = 2)",
    "limits": "limits of equal chance",
}


def _of_uncertainty(given: Mapping[str, Any], uncertainties: str) -> tuple[str, ...]:
    """Return for what the figures after ± were taken, where there are any."""
    if not any(getattr(each, "std_dev", 0.0) for each in given.values()):
        return ()
    others = " or ".join(each for each in _TAKEN if each != uncertainties)
    return (f"± is taken as {_TAKEN[uncertainties]}; --uncertainties {others} says otherwise",)


def _nothing_follows(subject: Subject, given: Mapping[str, Any]) -> str:
    from diagnose.calculations.solving import could_follow

    if not given:
        return f"nothing is given; `diagnose calc {subject.name} --help` lists what can be"
    lines = [f"nothing follows from {' and '.join(_flag(name) for name in given)} alone"]
    for each in could_follow(given, subject.calculations)[:5]:
        missing = [f"{_flag(name)} ({TERMS[name].title})" for name in each.required if name not in given]
        lines.append(f"  {each.title}: give {' and '.join(missing)} as well")
    return "\n".join(lines)
