"""The command line: arguments in, one of the library's own functions, plain lines out."""

import sys
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from basecalc.core.errors import BasecalcError, InputError, WorkbookError, fault_sentence
from basecalc.version import VERSION

if TYPE_CHECKING:
    from basecalc.runs import Outcome

Wrapped = TypeVar("Wrapped", bound=Callable[..., Any])
PATH = click.Path(path_type=Path)
JSON = click.option("--json", "as_json", is_flag=True, help="Print the numbers as JSON.")


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 110}, invoke_without_command=True
)
@click.version_option(VERSION, message="basecalc %(version)s")
@click.pass_context
def commands(context: click.Context) -> None:
    """Ground strength, aggregate base depth, quantities and quotes for paved driveways."""
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


def _one(_context: click.Context, option: click.Parameter, given: Sequence[Path]) -> Path | None:
    """Return the only path of an option; two are refused, for nobody would see which of them counted."""
    if len(given) > 1:
        raise click.BadParameter(f"it may be given once, not {len(given)} times", param=option)
    return given[0] if given else None


def _prices(help: str) -> Callable[[Wrapped], Wrapped]:
    return click.option("--prices", type=PATH, multiple=True, callback=_one, help=help)


@commands.command()
@click.argument("directory", type=PATH, required=False)
def demo(directory: Path | None) -> None:
    """Write an invented company's prices, three jobs, their quotes and an estimating workbook into DIRECTORY."""
    from basecalc.demo import fresh_directory, write_demo
    from basecalc.runs import quote_files

    files = write_demo(directory or fresh_directory(Path("basecalc-demo")))
    click.echo(f"An invented company's prices: {files.prices}")
    click.echo(f"The second job in an estimating workbook, for any spreadsheet program: {files.estimate}")
    _report(quote_files(files.jobs, files.prices, files.quotes))
    click.echo(
        "\nOpen a *-quote.xlsx for what the client gets, its *-office.xlsx for cost, its *-crew.xlsx for the crew. "
        f"All in {files.quotes}."
    )


@commands.command()
@click.argument("jobs", type=PATH, nargs=-1)
@_prices("The owner's price workbook; filled workbooks may use their own.")
@click.option(
    "--out", type=PATH, help="Folder for the workbooks; else quotes, or for a change order that of its office file."
)
@click.option("--pdf", is_flag=True, help="Also PDFs of the client's and the crew's (needs LibreOffice).")
@click.option(
    "--workers", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes that share the work."
)
@click.option(
    "--only-new", is_flag=True, help="Leave out jobs that have a finished quote in the folder; say where one changed."
)
@click.option("--again", is_flag=True, help="Write a new revision even where nothing changed.")
@click.option("--same-number", is_flag=True, help="The number may have a quote for another client or site already.")
@click.option(
    "--found", multiple=True, metavar="AREA=GROUND", help="Ground found in an area (class word or CBR): a change order."
)
@click.option("--dry-run", is_flag=True, help="Price and print; write nothing.")
@JSON
def quote(
    jobs: Sequence[Path], prices: Path | None, out: Path | None, pdf: bool, workers: int, only_new: bool, again: bool,
    same_number: bool, found: Sequence[str], dry_run: bool, as_json: bool,
) -> None:  # fmt: skip
    """Write the workbooks of client, office and crew for each of JOBS (job files, filled workbooks, their folders).

    A job of which nothing changed keeps its latest revision. The office file of a quote makes that quote again, as it
    was, under the next revision. With --found, one JOB (best the office file of the signed quote) becomes a change
    order beside that file.
    """
    from basecalc.runs import QUOTES, Wishes, job_files, open_elsewhere, quote_files

    if dry_run and pdf:
        raise click.UsageError("--dry-run writes nothing, so no PDF; leave out --pdf")
    if found:
        from basecalc.change_runs import change_job, change_numbers, change_text

        for option, given in (("--only-new", only_new), ("--same-number", same_number), ("--workers", workers > 1)):
            if given:
                raise click.UsageError(f"--found makes one change order, to which {option} says nothing; leave it out")
        if len(jobs) != 1:
            raise InputError(f"--found is for one job, and {len(jobs)} are named; it must be the one that was signed")
        order = change_job(jobs[0], found, prices, out, pdf=pdf, again=again, dry_run=dry_run)
        _say(_json(change_numbers(order)) if as_json else change_text(order), order.signed.notes)
        return
    if only_new and again:
        raise click.UsageError("--only-new leaves out what --again would write; give one of them")
    files = job_files(jobs)
    work = quote_files(files, prices, out or QUOTES, Wishes(pdf, only_new, again, same_number, dry_run), workers)
    if prices is not None and (warning := open_elsewhere(prices)):
        click.echo(f"basecalc: {warning}", err=True)
    shown = as_json or not sys.stdout.isatty()  # else the quotes themselves show how far it is
    if shown and sys.stderr.isatty() and len(files) > 3:
        with click.progressbar(work, len(files), "Quotes", file=sys.stderr) as bar:
            _report(bar, as_json=as_json)
    else:
        _report(work, as_json=as_json)


@commands.command()
@click.argument("file", type=PATH)
@click.option(
    "--for",
    "host",
    type=click.Choice(["any", "excel", "calc"]),
    help="The program it is for; else FILE's ending says it.",
)
@_prices("An older workbook whose company, materials and prices are carried over.")
@click.option("--job", type=PATH, help="A job to fill it with: a job file or a filled workbook.")
@click.option("--units", type=click.Choice(["us", "metric"]), help="Edition; else that of the job or the old workbook.")
@click.option("--field-card", is_flag=True, help="Write a page to print for the site visit instead.")
def template(
    file: Path, host: str | None, prices: Path | None, job: Path | None, units: str | None, field_card: bool
) -> None:
    """Write a new estimating workbook, with the company's price sheet, to FILE (.xlsx; .xlsm for Excel functions)."""
    if field_card:
        from basecalc.estimating.field_card import write_field_card

        click.echo(f"{write_field_card(file, units or 'us')}: a field card, one page to print.")
        return
    from basecalc.estimating.template import new_workbook

    made = new_workbook(file, host or "", prices, job, units or "")
    click.echo(f"{made.path}: an estimating workbook for {made.program}, {made.units} units. Begin on its sheet Entry.")


@commands.command()
@click.argument("file", type=PATH)
@click.option("--for", "host", type=click.Choice(["calc"]), required=True, help="The program it is for.")
def addin(file: Path, host: str) -> None:
    """Write the add-in with the worksheet functions for LibreOffice Calc to FILE (.oxt)."""
    from basecalc.addin.build import build_addin

    build_addin(file)
    click.echo(f"{file}: in LibreOffice {host.title()} choose Tools > Extension Manager > Add, then start it again.")


@commands.command()
@click.argument("strength")
@click.option(
    "--traffic", default="light", show_default=True, help="A traffic level by its name; a wrong one lists them."
)
@click.option("--reinforcement", default="none", show_default=True, help="none, geotextile or geogrid.")
@click.option("--aperture-stability", help="Of the geogrid, m-N/deg, from its own test report.")
@click.option("--unit", type=click.Choice(["in", "mm"]), default="in", show_default=True)
@click.option("--compare", is_flag=True, help="Also print all checks as one table, beside each other.")
@JSON
def depth(
    strength: str, traffic: str, reinforcement: str, aperture_stability: str | None, unit: str, compare: bool,
    as_json: bool,
) -> None:  # fmt: skip
    """Print every check of the base depth on ground of STRENGTH (a class word or a CBR), and which one governs."""
    from basecalc import ground_report

    made = ground_report.designed(strength, traffic, reinforcement, aperture_stability, unit)
    click.echo(
        _json(ground_report.depth_numbers(made)) if as_json else ground_report.depth_text(made, unit, compare=compare)
    )


@commands.command()
@click.argument("log", type=PATH)
@click.option(
    "--unit", default="", help="Unit of the depths in the log, where its heading does not say it: mm, cm, in."
)
@click.option("--hammer", default="", help="8 or 4.6 kg, where the log does not say it.")
@click.option(
    "--blows", type=click.Choice(["per step", "total"]), help="How the blows are counted, where it is not plain."
)
@click.option("--depths", type=click.Choice(["per step", "total"]), help="How the depths are counted, likewise.")
@click.option("--soil", default="", help="Soil where the log names none, such as clay or sand.")
@click.option(
    "--show", type=click.Choice(["in", "mm"]), default="in", show_default=True, help="Unit of what is printed."
)
@JSON
def dcp(
    log: Path, unit: str, hammer: str, blows: str | None, depths: str | None, soil: str, show: str, as_json: bool
) -> None:
    """Print the layers, the CBR by depth and the CBR to design for of a cone penetrometer's LOG.

    LOG is a text file (.csv) or a filled estimating workbook, whose sheet Cone log is read.
    """
    from basecalc.ground_report import log_numbers, log_text, read_log

    asked = {"unit": unit, "hammer": hammer, "blows": blows or "", "depths": depths or ""}
    read, made = read_log(log, soil, **asked)
    click.echo(_json(log_numbers(read, made)) if as_json else log_text(read, made, show))


@commands.command()
@click.argument("directory", type=PATH)
@click.option("--results", type=PATH, help="The list of results (.csv); else results.csv in DIRECTORY, if it is there.")
@click.option("--day", type=click.DateTime(["%Y-%m-%d"]), help="The day to read the book for; else today.")
@click.option("--out", type=PATH, help="Also write the book to this .xlsx, for the office only.")
@click.option("--next", "only_next", is_flag=True, help="Print only the number for the next quote.")
@JSON
def book(
    directory: Path, results: Path | None, day: datetime | None, out: Path | None, only_next: bool, as_json: bool
) -> None:
    """Print every quote in DIRECTORY: total, margin, state, change orders, what to do today, won by month and option.

    Quotes are read from their office files. The list of results says what became of them: job, result (sent, signed,
    built, lost), date, reason, and which revision and change order were signed.
    """
    from basecalc.season.book import book_numbers, book_text, load_book, next_number
    from basecalc.season.run import write_book

    made = load_book(directory, results, day.date() if day else None)
    file = write_book(made, out) if out is not None else None
    if as_json:
        click.echo(_json(book_numbers(made)))
    else:
        click.echo(next_number(made) if only_next else book_text(made))
        if file is not None and not only_next:
            click.echo(f"{file}: the book of quotes, for the office only")


@commands.command()
@click.argument("tickets", type=PATH, nargs=-1, required=True)
@click.option(
    "--job", "jobs", type=PATH, multiple=True, required=True,
    help="Office files of signed quotes, job files, or a folder of either; may be given often.",
)  # fmt: skip
@_prices("The owner's price workbook, which the suggestions are for; a filled workbook may use its own.")
@click.option("--out", type=PATH, help="Also write the season's workbook to this .xlsx, for the office only.")
@JSON
def actuals(
    tickets: Sequence[Path], jobs: Sequence[Path], prices: Path | None, out: Path | None, as_json: bool
) -> None:
    """Print what jobs used against what was signed, and what that suggests for your prices.

    TICKETS are lists (.csv) of tickets, hours, invoices and results, or folders of them. With office files as jobs,
    planned is the signed quote with its signed change order; with job files it is worked out anew.
    """
    from basecalc.season.run import load_season, season_numbers, season_text, write_season

    made = load_season(tickets, jobs, prices)
    file = write_season(made, out) if out is not None else None
    click.echo(_json(season_numbers(made)) if as_json else season_text(made))
    if file is not None and not as_json:
        click.echo(f"{file}: the season, for the office only")


@commands.command()
@click.argument("file", type=PATH, required=False)
@click.option("--against", type=PATH, help="An older price workbook: list what changed in FILE since.")
@click.option("--quotes", type=PATH, help="A folder of quotes: what the prices in FILE do to each of them.")
@JSON
def check(file: Path | None, against: Path | None, quotes: Path | None, as_json: bool) -> None:
    """Print what is installed and works here; or, with FILE, everything wrong in a price workbook or job file.

    In a price workbook that is sound, prices that have grown old are named too.
    """
    from dataclasses import asdict

    from basecalc.health import file_problems, installation, worth_a_look

    if file is None:
        if against or quotes:
            raise click.UsageError("--against and --quotes need FILE, the price workbook to check")
        parts = installation()
        broken = [part.name for part in parts if part.needed and not part.works]
        if as_json:
            click.echo(_json([asdict(part) for part in parts]))
        else:
            for part in parts:
                click.echo(f"{'ok' if part.works else '--' if not part.needed else 'NO':3} {part.name}: {part.seen}")
        if broken:
            raise WorkbookError(f"this installation does not work: {', '.join(broken)}")
        return
    from basecalc.price_runs import far_prices_in, old_prices_in, price_printed

    found = file_problems(file)
    if not found and (against or quotes):
        _say(price_printed(file, against, quotes, as_json=as_json), old_prices_in(file))
        if far := far_prices_in(file, against):
            _say("", far)
            raise click.exceptions.Exit(2)
        return
    if as_json:
        click.echo(_json([str(problem) for problem in found]))
    elif not found:
        click.echo(f"{file}: nothing wrong was found")
    for problem in found:
        click.echo(f"basecalc: {problem}", err=True)
    if found:
        raise click.exceptions.Exit(2)
    if not as_json:
        for words in worth_a_look(file):
            click.echo(f"worth a look: {words}")
    _say("", old_prices_in(file))


_EXAMPLES = {
    "demo": ("demo", "demo try-it"),
    "quote": ("quote jobs --prices prices.xlsx --dry-run", 'quote quotes/A-7-r1-office.xlsx --found "Driveway=soft"'),
    "template": ("template drive.xlsm --prices prices.xlsx", "template drive.xlsx --job drive.toml --units metric"),
    "addin": ("addin --for calc basecalc.oxt", "addin --for calc downloads/basecalc.oxt"),
    "depth": ("depth soft", "depth 1.8 --traffic delivery --reinforcement geogrid --aperture-stability 0.35 --compare"),
    "dcp": ("dcp log.csv --soil clay", "dcp log.csv --unit mm --hammer 8 --show mm"),
    "book": ("book quotes", "book quotes --results results.csv --out book.xlsx"),
    "actuals": (
        "actuals lists --job quotes --prices prices.xlsx", "actuals tickets.csv --job jobs --prices prices.xlsx",
    ),
    "check": ("check prices.xlsx", "check prices.xlsx --against old-prices.xlsx --quotes quotes"),
}  # fmt: skip
for _name, _lines in _EXAMPLES.items():
    commands.commands[_name].epilog = "\b\n" + "\n".join(("Examples:", *(f"  basecalc {line}" for line in _lines)))


def _json(numbers: Any) -> str:
    from json import dumps

    return dumps(numbers, indent=2)


def _say(text: str, notes: Sequence[str]) -> None:
    """Print what was asked for; what must be known beside it goes to standard error and stops nothing."""
    if text:
        click.echo(text)
    for note in notes:
        click.echo(f"basecalc: {note}", err=True)


def _report(outcomes: Iterable["Outcome"], *, as_json: bool = False) -> None:
    """Print what became of each job as it comes; refusals go to standard error and end in exit code 2."""
    from basecalc import reports

    numbers, refused = [], False
    for outcome in outcomes:
        if as_json:
            numbers.append(reports.quote_numbers(outcome))
        elif outcome.quote is not None:
            click.echo(reports.quote_text(outcome))
        elif outcome.left_out:
            click.echo(f"{outcome.job}: left out, its quote is there already")
        for line in (*outcome.notes, *filter(None, [outcome.refusal])):
            click.echo(f"basecalc: {line}", err=True)
        refused = refused or bool(outcome.refusal)
    if as_json:
        click.echo(_json(numbers))
    if refused:
        raise click.exceptions.Exit(2)


def _let_go_of_output() -> None:
    """Drop what standard output could not take, so that it is not tried and complained of once more at the end."""
    import os

    try:
        sys.stdout.flush()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the command line; a refusal is one line on standard error and exit code 2."""
    try:
        code = commands.main(arguments, prog_name="basecalc", standalone_mode=False)
    except click.Abort:
        click.echo("basecalc: stopped", err=True)
        code = 130
    except click.ClickException as refusal:
        click.echo(f"basecalc: {' '.join(refusal.format_message().split())}", err=True)
        code = 2
    except BasecalcError as refusal:
        click.echo(f"basecalc: {refusal}", err=True)
        code = 2
    except Exception as fault:  # noqa: BLE001  # the last resort: one line, as for everything else
        click.echo(f"basecalc: {fault_sentence(fault)}", err=True)
        _let_go_of_output()
        code = 2
    sys.exit(code if isinstance(code, int) else 0)
