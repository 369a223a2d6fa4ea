"""What `nameplate estimate` shows: tables that fit 80 columns, or JSON."""

from __future__ import annotations

import json

import click
from rich.table import Table

from nameplate.cli.screen import console, print_purchase, sheets_in_words
from nameplate.job.estimate import Answer, Need, SpareNeed, answer_record
from nameplate.nest.buying.quote import MaterialQuote, Quote

#: One and many of each kind of part.
_WORDS = {
    "lettering": ("piece of lettering", "pieces of lettering"),
    "template": ("template", "templates"),
    "carrier": ("carrier layer", "carrier layers"),
    "backing": ("backing", "backings"),
    "blank": ("blank", "blanks"),
    "coupon": ("coupon", "coupons"),
}


def show_answer(answer: Answer, *, as_json: bool) -> None:
    """Print what a job needs, each size alone, how good that is and what more names would cost."""
    if as_json:
        click.echo(json.dumps(answer_record(answer), ensure_ascii=False, indent=1))
        return
    print_purchase(answer.figures)
    for need in answer.needs:
        click.echo(f"{need.material}: {_parts(need)}")
    click.echo()
    _print_alternatives(answer.quote)
    for material in answer.quote.materials:
        click.echo(_least(material))
    click.echo(_more(answer.quote))
    if answer.spares is not None:
        click.echo(_spares(answer.spares))
    if answer.off:
        click.echo(_draft(answer))


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
    table = Table("if only one size is bought", "sheet (mm)", "sheets", "price", "cost", box=None)
    for column in table.columns[2:]:
        column.justify = "right"
    for material in choices:
        for size in material.alone:
            sheets = f"{'' if size.exact else 'about '}{size.sheets}"
            table.add_row(
                material.material,
                f"{size.width:g} x {size.height:g}",
                sheets,
                f"{size.price:.2f}",
                f"{size.cost:.2f}",
            )
    console().print(table)
    click.echo()


def _least(material: MaterialQuote) -> str:
    """Say what is proven, and how full the sheets of anything cheaper would have to be."""
    if not material.least_sheets:
        return f"{material.material}: nothing to buy"
    proven = f"{material.material}: never fewer than {sheets_in_words(material.least_sheets)}"
    if material.least_cost:
        proven += f" or {material.least_cost:.2f}"
    if material.needed_density is None:
        return proven
    return f"{proven}; any cheaper must be {material.needed_density:.0%} full"


def _more(quote: Quote) -> str:
    """Say how many more names the sheets take, and what more would cost.

    >>> _more(Quote((), 0.0, 0.0, 2.1, 1, False))
    '1 more name fits on these sheets; one more costs 0.00, ten more 2.10'
    """
    count = f"{'more than ' if quote.still_fit_more else ''}{quote.still_fit}"
    fit = "more name fits" if count == "1" else "more names fit"
    return f"{count} {fit} on these sheets; one more costs {quote.one_more:.2f}, ten more {quote.ten_more:.2f}"


def _spares(spares: SpareNeed) -> str:
    """Say what spare pieces add.

    >>> _spares(SpareNeed((("7", 1),), 0, 0.0, True)), _spares(SpareNeed((("7", 2),), 1, 4.5, False))
    ('1 spare piece adds no sheet and costs 0.00', '2 spare pieces add about 1 sheet and cost 4.50')
    """
    count = sum(n for _, n in spares.pieces)
    s, one = ("", "s") if count == 1 else ("s", "")
    sheets = sheets_in_words(spares.sheets) if spares.sheets else "no sheet"
    about = "" if spares.exact or not spares.sheets else "about "
    return f"{count} spare piece{s} add{one} {about}{sheets} and cost{one} {spares.cost:.2f}"


def _draft(answer: Answer) -> str:
    """Say that the figures come from a draft, and what that can change."""
    unsure = [f"  {n.material}: {n.least} to {sheets_in_words(n.most)}" for n in answer.needs if n.least < n.most]
    result = "" if unsure else " no sheet more or less"
    lines = [f"from a draft of the lettering, {answer.off:.0%} more or less when cut:{result}", *unsure]
    return "\n".join([*lines, "--exact goes by the finished lettering and takes longer"])
