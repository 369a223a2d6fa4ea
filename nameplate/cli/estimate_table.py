"""What `nameplate estimate` shows: the order, then tables that fit 80 columns; or JSON."""

from __future__ import annotations

from collections.abc import Sequence

import click
from rich.table import Table

from nameplate.cli.screen import console, order_told
from nameplate.findings import counted
from nameplate.job.estimate import Answer, Need, SpareNeed, answer_record
from nameplate.nest.buying.quote import MaterialQuote, Quote
from nameplate.paperwork.order import of_designs, sheet_words
from nameplate.record.plate_lists import in_ranges
from nameplate.system.grouping import grouped
from nameplate.system.writing import json_text
from nameplate.units import size_in_words

#: So many plates that wait for approval are named, a range counted as one.
MOST_NAMED = 8

#: One and many of each kind of part.
_WORDS = {
    "lettering": ("piece of lettering", "pieces of lettering"),
    "template": ("template", "templates"),
    "carrier": ("carrier layer", "carrier layers"),
    "backing": ("backing", "backings"),
    "blank": ("plaque", "plaques"),
    "coupon": ("coupon", "coupons"),
}


def show_answer(answer: Answer, *, as_json: bool) -> None:
    """Print what to order and for how many more names it is enough; then each size alone, and how good all that is."""
    told = _told(answer)
    if as_json:
        click.echo(json_text({**answer_record(answer), "told": told}), nl=False)
        return
    exact = "--exact goes by the finished lettering; room may differ by a name; it is slower"
    for line in (*told, exact) if answer.off else told:
        click.echo(line)
    click.echo()
    _print_figures(answer)
    for need in answer.needs:
        click.echo(f"{sheet_words(need.material)}: {_parts(need)}")
    click.echo()
    _print_alternatives(answer.quote)
    for material in answer.quote.materials:
        click.echo(_least(material))


def _told(answer: Answer) -> list[str]:
    """Say what to order, line by line, and for how many more names it is enough."""
    perhaps = {need.material: need.most - need.sheets for need in answer.needs}
    lines = order_told(answer.batch, perhaps, off=answer.off)
    if answer.waiting:
        lines.append(_waiting(answer.waiting))
    if answer.quote.cost:
        lines.append(_more(answer.quote))
    if answer.spares is not None:
        lines.append(_spares(answer.spares))
    return [*lines, *(_draft(answer) if answer.off else ())]


def _print_figures(answer: Answer) -> None:
    """Show the sheets of each size and how full they are; money where it is known."""
    figures = answer.figures
    prices = any(line.price for line in figures.sizes)
    money = ("price", "cost") if prices else ()
    table = _table("material", "sheet (mm)", "sheets", "on hand", "to buy", *money, "full")
    for line in figures.sizes:
        table.add_row(
            sheet_words(line.material),
            size_in_words(line.width, line.height),
            str(line.count),
            str(line.on_hand),
            str(line.to_buy),
            *(("offcut" if line.offcut else _money(line.price), _money(line.cost)) if prices else ()),
            f"{line.density:.0%}",
        )
    if figures.sizes:
        console().print(table)


def _table(*titles: str) -> Table:
    """Give a table for figures: all but its first two columns stand to the right."""
    table = Table(*titles, box=None)
    for column in table.columns[2:]:
        column.justify = "right"
    return table


def _money(amount: float) -> str:
    """Say an amount; nothing where no price is known."""
    return f"{amount:.2f}" if amount else ""


def _parts(need: Need) -> str:
    """Say what a material is cut into.

    >>> _parts(Need("template", (("carrier", 3), ("template", 1)), 2, 2, 3))
    '3 carrier layers, 1 template'
    """
    return ", ".join(f"{count} {_WORDS[kind][count != 1]}" for kind, count in need.parts)


def _print_alternatives(quote: Quote) -> None:
    """Show each size alone, of the materials that have a choice of sizes."""
    choices = [material for material in quote.materials if len(material.alone) > 1]
    if not choices:
        return
    prices = any(size.price for material in choices for size in material.alone)
    table = _table("if only one size is bought", "sheet (mm)", "sheets", *(("price", "cost") if prices else ()))
    for material in choices:
        for size in material.alone:
            sheets = f"{'' if size.exact else 'about '}{size.sheets}"
            table.add_row(
                sheet_words(material.material),
                f"{size.width:g} x {size.height:g}",
                sheets,
                *((_money(size.price), _money(size.cost)) if prices else ()),
            )
    console().print(table)
    click.echo()


def _least(material: MaterialQuote) -> str:
    """Say what is proven of the sheets to buy, and how full those of anything cheaper would have to be.

    >>> _least(MaterialQuote("blank", (), 4, 26.0, 0.6, 3, 19.5, 0.793))
    'plaque: to buy at least 3 sheets for 19.50, however full; any cheaper must be 79% full'
    >>> _least(MaterialQuote("card", (), 1, 0.0, 0.6, 0, 0.0, None))
    'card: nothing to buy'
    """
    if not material.least_sheets:
        return f"{sheet_words(material.material)}: nothing to buy"
    cost = f" for {material.least_cost:.2f}" if material.least_cost else ""
    sheets = counted(material.least_sheets, "sheet")
    proven = f"{sheet_words(material.material)}: to buy at least {sheets}{cost}, however full"
    if material.needed_density is None:
        return proven
    return f"{proven}; any cheaper must be {material.needed_density:.0%} full"


def _more(quote: Quote) -> str:
    """Say what more names of each design would cost.

    >>> from nameplate.nest.buying.quote import MoreNames
    >>> _more(Quote((), 8.4, (MoreNames("", 1, False, "", one=0.0, ten=2.1),)))
    'One more name costs nothing, ten more 2.10'
    >>> _more(Quote((), 8.4, (MoreNames("a", 1, False, "", 0.0, 2.1), MoreNames("b", 9, False, "", 0.0, 0.0))))
    'One more name of a costs nothing, ten more 2.10; one of b nothing, ten more nothing'
    >>> _more(Quote((), 8.4, tuple(MoreNames(name, 9, False, "", 0.0, 2.1) for name in "ab")))
    'One more name of a or b costs nothing, ten more 2.10'
    """
    told: list[str] = []
    for costs, designs in grouped(((own.one, own.ten), own.design) for own in quote.more).items():
        which = f" {of_designs(designs)}" if len(quote.more) > 1 else ""
        one, ten = (f"{cost:.2f}" if cost else "nothing" for cost in costs)
        told.append(f"{f'one{which}' if told else f'One more name{which} costs'} {one}, ten more {ten}")
    return "; ".join(told)


def _spares(spares: SpareNeed) -> str:
    """Say what spare pieces add.

    >>> _spares(SpareNeed((("7", 1),), 0, 0.0, True)), _spares(SpareNeed((("7", 2),), 1, 4.5, False))
    ('1 spare piece adds no sheet', '2 spare pieces add about 1 sheet and cost 4.50')
    """
    count = sum(n for _, n in spares.pieces)
    pieces = counted(count, "spare piece", "adds", "add")
    sheets = counted(spares.sheets, "sheet") if spares.sheets else "no sheet"
    about = "" if spares.exact or not spares.sheets else "about "
    cost = f" and cost{'s' * (count == 1)} {spares.cost:.2f}" if spares.cost else ""
    return f"{pieces} {about}{sheets}{cost}"


def _waiting(plates: Sequence[str]) -> str:
    """Say which of the plates that are counted nobody approved yet.

    >>> _waiting(["007"])
    'Of these plates 1 waits for approval (007): make refuses it before that'
    """
    wait, them = ("waits", "it") if len(plates) == 1 else ("wait", "them")
    which = in_ranges(plates, most=MOST_NAMED)
    return f"Of these plates {len(plates)} {wait} for approval ({which}): make refuses {them} before that"


def _draft(answer: Answer) -> tuple[str, ...]:
    """Say that the figures come from a draft, and what that can change."""
    unsure = [
        f"  {sheet_words(n.material)}: {n.least} to {counted(n.most, 'sheet')}"
        for n in answer.needs
        if n.least < n.most
    ]
    result = "" if unsure else " no sheet more or less"
    first = f"From a draft of the lettering, {answer.off:.0%} more or less when cut:{result}"
    return (first, *unsure)
