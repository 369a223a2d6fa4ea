import errno
import multiprocessing
import pickle
import tracemalloc
from dataclasses import dataclass, replace

import numpy as np
import pytest
import shapely

from nameplate.errors import OutputError
from nameplate.geometry.region import EMPTY, disc, rectangle
from nameplate.model import Lettering, Part
from nameplate.nest.layout import Piece, PlacedRegion, pieces_of, placed, placement
from nameplate.system import shelf as shelves
from nameplate.system.shelf import Drawers, Shelf, changed, lays_away, packed, sent_whole, stored

ROUND = disc((0.1, 0.2), 40)


@lays_away("text")
@dataclass(frozen=True, slots=True)
class Book:
    text: str
    year: int = 1900


@dataclass(frozen=True, slots=True)
class Row:
    books: tuple[Book, ...]


def a_part(region=ROUND, **more):
    return Part("7", "lettering", "lettering", region, **more)


def test_a_packed_outline_comes_back_to_the_last_bit():
    # pickled geometry is WKB, which holds every double as it is (OGC 06-103r4, 8.2)
    assert isinstance(stored(packed(a_part()), "region"), shelves.PackedValue)
    assert np.array_equal(shapely.get_coordinates(packed(a_part()).region), shapely.get_coordinates(ROUND))


def test_what_is_small_or_empty_stays_as_it_is():
    assert stored(packed(a_part(EMPTY)), "region") is EMPTY
    assert stored(packed(a_part()), "marks") == ()


def test_what_occurs_twice_is_packed_once(tmp_path):
    both = (Lettering(ROUND, 1, 1, (), 1), a_part())
    letters, part = packed(both)
    assert stored(letters, "region") is stored(part, "region")
    with Shelf(tmp_path, in_memory=0) as shelf:
        letters, part = shelf.keep(packed(both))
        assert stored(letters, "region") is stored(part, "region")
        assert shelf.path.stat().st_size == stored(part, "region").size


def test_the_first_stay_in_memory_and_the_rest_goes_to_one_file_that_ends_with_the_shelf(tmp_path):
    with Shelf(tmp_path, prefix=".out-1-", in_memory=2500) as shelf:
        kept = [shelf.keep(Book(str(n) * 1000)) for n in range(5)]
        assert [stored(book, "text").file != "" for book in kept] == [False, False, True, True, True]
        assert [book.text for book in kept] == [str(n) * 1000 for n in range(5)]
        (file,) = tmp_path.iterdir()
        assert file.name.startswith(".out-1-")
    assert not list(tmp_path.iterdir())


def test_a_shelf_of_little_writes_no_file(tmp_path):
    with Shelf(tmp_path) as shelf:
        assert shelf.keep(a_part()).region.equals(ROUND)
        assert not list(tmp_path.iterdir())


def opened_elsewhere(pipe):
    pipe.send(pipe.recv().region.area)


def test_another_process_reads_what_it_needs_from_the_file(tmp_path):
    with Shelf(tmp_path, in_memory=0) as shelf:
        kept = shelf.keep(a_part())
        assert len(pickle.dumps(kept)) < 1000 < len(pickle.dumps(a_part()))
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe()
        process = context.Process(target=opened_elsewhere, args=(theirs,))
        process.start()
        ours.send(kept)
        assert ours.recv() == ROUND.area
        process.join()


def test_for_another_machine_the_bytes_go_along(tmp_path):
    with Shelf(tmp_path, in_memory=0) as shelf, sent_whole():
        sent = pickle.dumps(shelf.keep(a_part()))
    assert pickle.loads(sent).region.equals(ROUND)  # the file is gone


def test_depth_is_no_matter_and_other_fields_are_left_alone():
    row = Row((Book("a" * 999, 1), Book("b" * 999, 2)))
    again = packed(row)
    assert again == row
    assert [book.year for book in again.books] == [1, 2]
    assert packed(again) is again


def test_a_change_of_other_fields_opens_nothing():
    kept = packed(a_part())
    assert stored(changed(kept, copies=3), "region") is stored(kept, "region")
    assert changed(kept, copies=3) == replace(kept, copies=3)


def test_pieces_share_the_outline_of_their_part_and_do_not_open_it():
    kept = packed(a_part(copies=3))
    pieces = pieces_of([kept])
    assert {stored(piece, "region") is stored(kept, "region") for piece in pieces} == {True}
    assert len({piece.shape for piece in pieces}) == 1


def test_a_lying_piece_is_moved_when_it_is_looked_at():
    piece = Piece("7", "lettering", 1, 1, "lettering", rectangle(0, 0, 2, 1))
    at = placement(piece, 10, 20, 90)
    assert PlacedRegion(piece, at).made().equals(placed(piece, at))


def test_drawers_open_what_is_looked_up_and_join_without_opening(monkeypatch):
    kept = packed(Drawers({1: ROUND}))
    joined = Drawers({}).joined(kept).joined({2: EMPTY})
    monkeypatch.setattr(shelves, "_opened", lambda later: pytest.fail("opened"))
    assert list(joined) == [1, 2]
    assert 1 in joined
    monkeypatch.undo()
    assert joined[1].equals(ROUND)
    assert joined[2] is EMPTY


def test_a_full_disk_is_said_in_a_sentence(tmp_path, monkeypatch):
    class Full:
        def write(self, data):
            raise OSError(errno.ENOSPC, "No space left on device")

        def close(self):
            pass

    with Shelf(tmp_path, in_memory=0) as shelf:
        shelf._file = Full()
        with pytest.raises(OutputError, match=r"cannot be kept in .*: No space left on device; free space there"):
            shelf.keep(a_part())


def test_a_disk_that_takes_a_few_bytes_at_a_time_loses_none(tmp_path):
    with Shelf(tmp_path, in_memory=0) as shelf:
        shelf.keep(Book("x" * 300))
        real = shelf._file

        class Slow:
            def write(self, data):
                return real.write(data[:7])

            def close(self):
                real.close()

        shelf._file = Slow()
        assert shelf.keep(Book("y" * 999)).text == "y" * 999


@pytest.mark.parametrize("harm", [lambda path: path.unlink(), lambda path: path.write_bytes(b"")])
def test_a_file_that_others_took_away_is_said(tmp_path, harm):
    with Shelf(tmp_path, in_memory=0) as shelf:
        kept = shelf.keep(a_part())
        harm(shelf.path)
        with pytest.raises(OutputError, match="a temporary file of this run"):
            kept.region  # noqa: B018 - looked at for what it raises


def test_a_thousand_plates_on_a_shelf_take_a_hundredth_of_their_outlines(tmp_path):
    rng = np.random.default_rng(1)
    with Shelf(tmp_path, in_memory=0) as shelf:
        tracemalloc.start()
        kept = [shelf.keep(packed(a_part(disc((x, 0), 40)))) for x in rng.random(1000)]
        taken, _ = tracemalloc.get_traced_memory()
        tracemalloc.stop()
        assert shelf.path.stat().st_size > 50 * len(kept) * len(kept[0].region.geoms)
        assert taken / len(kept) < 1500  # bytes
