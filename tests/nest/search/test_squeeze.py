import pytest
import strip_workers

from nameplate.geometry.region import covers, difference, from_ring, offset, points, rectangle, union
from nameplate.nest.layout import Layout, Piece, placement
from nameplate.nest.search.contour import contour
from nameplate.nest.search.effort import improve
from nameplate.nest.search.orders import largest_first
from nameplate.nest.search.recreate import score
from nameplate.nest.search.relay import relaid, settle
from nameplate.nest.search.squeeze import Squeeze, _fill, squeeze, strip_of
from nameplate.nest.search.strip import Solved, available
from nameplate.nest.search.trueshape import Stamps, greedy, open_table, pack_shapes, put_at
from nameplate.nest.sheets import Blank, Rules, with_usable
from nameplate.nest.verify import verify

from ..letters import words

RULES = Rules(gap=1.5, edge=5)
BLANK = with_usable(Blank(0, "lettering", 200, 100), RULES)


def start_of(pieces):
    packed = pack_shapes(pieces, [BLANK] * 6, RULES)
    return [(BLANK, rows) for rows in packed.placements if rows]


def layout_of(sheets):
    return Layout(tuple(blank.sheet(rows) for blank, rows in sheets))


@pytest.mark.parametrize("worker", [strip_workers.hangs, strip_workers.dies, strip_workers.raises, strip_workers.lies])
def test_a_failing_worker_leaves_a_valid_layout_no_worse_and_says_so(worker, monkeypatch, capfd):
    monkeypatch.setattr("nameplate.nest.search.effort.available", lambda: True)
    pieces = words(8)
    start = start_of(pieces)
    sheets, findings = improve(start, pieces, RULES, 2.5, worker=worker)
    assert verify(layout_of(sheets), pieces, RULES) == ()
    assert len(sheets) <= len(start)
    if worker is not strip_workers.lies:  # a false solution is simply not taken
        assert [f.code for f in findings] == ["strip-solver-failed"]


def test_without_the_solver_the_time_is_used_otherwise_and_that_is_said(monkeypatch):
    monkeypatch.setattr("nameplate.nest.search.effort.available", lambda: False)
    pieces = words(6)
    sheets, findings = improve(start_of(pieces), pieces, RULES, 0.5)
    assert [f.code for f in findings] == ["no-strip-solver"]
    assert "nameplate[long]" in findings[0].message
    assert verify(layout_of(sheets), pieces, RULES) == ()


def test_an_interrupt_keeps_the_best_and_is_told():
    pieces = words(6)

    def report(progress):
        assert progress.sheets >= 1
        assert 0 < progress.density < 1
        raise KeyboardInterrupt

    sheets, findings = improve(start_of(pieces), pieces, RULES, "normal", report=report)
    assert [f.code for f in findings] == ["nest-interrupted"]
    assert verify(layout_of(sheets), pieces, RULES) == ()


def test_an_interrupt_uses_what_the_solver_had_found_by_then(monkeypatch, tmp_path):
    # the reference: two bars laid far apart, of which the solver knows a shorter strip
    bars = [Piece(name, "blank", 1, 1, "lettering", rectangle(0, 0, 10, 60)) for name in "ab"]
    stamps = Stamps(bars, RULES, 0.5)
    table = open_table(BLANK, RULES, 0.5)
    for n, x in enumerate((9.0, 149.0)):
        assert put_at(table, n, bars[n], stamps.die(n), placement(bars[n], x, 10.0, 0))
    monkeypatch.setenv("SENT", str(tmp_path / "sent"))
    kept = []

    def go_on():
        if (tmp_path / "sent").exists():
            raise KeyboardInterrupt
        return True

    job = Squeeze(bars, stamps, [BLANK], RULES, go_on, strip_workers.hangs_and_tells, cores=1, keep=kept.append)
    with pytest.raises(KeyboardInterrupt):
        squeeze([table], job, 30.0)
    assert kept[-1][0].used < 40 < table.used
    assert verify(layout_of([(BLANK, tuple(ly.at for ly in kept[-1][0].lying))]), bars, RULES) == ()


def test_parts_of_the_last_sheet_move_to_a_full_one_and_none_is_lost():
    # by hand: 190 mm take 16 bars of 10 mm and their gaps of 1.5; 8 lie there 20 mm apart, so 3 more go in
    bars = [Piece(f"{n:02d}", "blank", 1, 1, "lettering", rectangle(0, 0, 10, 85)) for n in range(11)]
    stamps = Stamps(bars, RULES, 0.5)
    tables = [open_table(BLANK, RULES, 0.5) for _ in range(2)]
    for n, bar in enumerate(bars):
        at = placement(bar, 6.0 + 20 * (n % 8), 6.0, 0)
        assert put_at(tables[n // 8], n, bar, stamps.die(n), at)
    job = Squeeze(bars, stamps, [BLANK] * 2, RULES, worker=strip_workers.lays_a_row, cores=1)
    after = _fill(tables, [0], job, 3.0, 0)
    assert sorted(ly.index for t in after for ly in t.lying) == list(range(11))
    assert [len(t.lying) for t in after] == [11, 0]
    assert verify(layout_of([(BLANK, tuple(ly.at for ly in after[0].lying))]), bars, RULES) == ()


@pytest.mark.parametrize("worker", [strip_workers.dies, strip_workers.raises, strip_workers.lies])
def test_a_full_sheet_whose_worker_fails_loses_nothing(worker, capfd):
    pieces = words(14)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK] * 6, RULES, largest_first(pieces), stamps=stamps)
    assert len(tables) > 1
    job = Squeeze(pieces, stamps, [BLANK] * 6, RULES, worker=worker, cores=2)
    after = _fill(tables, list(range(len(tables) - 1)), job, 2.0, 0)
    sheets = [(BLANK, tuple(ly.at for ly in t.lying)) for t in after if t and t.lying]
    assert verify(layout_of(sheets), pieces, RULES) == ()
    assert sum(len(rows) for _, rows in sheets) == len(pieces)


def test_a_heap_from_the_solver_is_refused():
    pieces = words(5)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK], RULES, largest_first(pieces), stamps=stamps)
    heap = Solved(1.0, ((0.0, 0.0, 0.0),) * 5)
    sheet, over = relaid(tables[0], list(range(5)), heap, pieces, stamps, RULES)
    assert sorted([*(lying.index for lying in sheet.lying), *over]) == list(range(5))
    layout = layout_of([(BLANK, tuple(ly.at for ly in sheet.lying))])
    lying = [pieces[ly.index] for ly in sheet.lying]
    assert verify(layout, lying, RULES) == ()


def test_a_solution_for_other_parts_is_refused():
    pieces = words(5)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK], RULES, largest_first(pieces), stamps=stamps)
    assert relaid(tables[0], list(range(5)), Solved(1.0, ((0.0, 0.0, 0.0),) * 4), pieces, stamps, RULES) is None


def test_settling_pushes_a_part_against_its_neighbour_and_no_nearer_than_the_gap():
    # brute force: two upright bars 30 mm apart end one gap apart, the first at the edge
    bars = [Piece(name, "blank", 1, 1, "lettering", rectangle(0, 0, 10, 60)) for name in "ab"]
    stamps = Stamps(bars, RULES, 0.5)
    table = open_table(BLANK, RULES, 0.5)
    for n, x in enumerate((9.0, 49.0)):
        assert put_at(table, n, bars[n], stamps.die(n), placement(bars[n], x, 10.0, 0))
    settle(table, bars, stamps)
    first, second = sorted(ly.at.x for ly in table.lying)
    assert first == pytest.approx(5.0, abs=0.06)
    assert second - first - 10 == pytest.approx(1.5, abs=0.06)
    assert second - first - 10 >= 1.5 - 1e-3


def test_a_contour_keeps_half_the_gap_from_its_part_with_few_points():
    # the reference: the part grown by half the gap, by the general offset
    for piece in words(4):
        ring = contour(piece.region, 1.5)
        assert difference(offset(piece.region, 0.75), from_ring(ring)).area < 0.01
        assert len(ring) < len(points(piece.region)) / 2


def test_a_contour_holds_every_solid_of_a_part():
    dotted = union(rectangle(0, 0, 40, 10), rectangle(12, 20, 15, 23), rectangle(30, 14, 31, 15))
    assert covers(from_ring(contour(dotted, 1.5)), dotted)


def test_the_strip_asks_for_what_the_sheet_has():
    pieces = words(5)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK], RULES, largest_first(pieces), stamps=stamps)
    strip = strip_of(tables[0], range(5), Squeeze(pieces, stamps, [BLANK], RULES), 3.0, seed=0)
    assert strip.height == pytest.approx(100 - 2 * 5 + 1.5)
    assert len(strip.outlines) == 5
    assert all(abs(min(x for x, _ in ring)) < 60 for ring in strip.outlines)


@pytest.mark.skipif(not available(), reason="the strip solver is an optional extra and not installed")
def test_squeezing_is_never_worse_and_holds_exactly():
    pieces = words(10)
    stamps = Stamps(pieces, RULES, 0.5)
    tables, _ = greedy(pieces, [BLANK] * 4, RULES, largest_first(pieces), stamps=stamps)
    before = score(tables)
    after = squeeze(tables, Squeeze(pieces, stamps, [BLANK] * 4, RULES), 5.0)
    assert not before.better(score(after))
    sheets = [(BLANK, tuple(ly.at for ly in t.lying)) for t in after if t and t.lying]
    assert verify(layout_of(sheets), pieces, RULES) == ()
