"""Ids stay with their plates whatever is done to the list; what cannot be told is asked."""

from hypothesis import given
from hypothesis import strategies as st

from nameplate.record.ids import KnownPlate, ListedRow, number_rows

NAMES = ["Wren Abara", "Ada Pell", "Mia Holt", "Otto Quill", "Ines Vane"]


def listed(texts):
    return [ListedRow("", text, text) for text in texts]


def known(texts, ids=None):
    ids = ids or number_rows(listed(texts)).ids
    return [KnownPlate(i, text, text, at) for at, (i, text) in enumerate(zip(ids, texts, strict=True))]


def new_in(done, plates):
    return tuple(one for one in done.ids if one and one not in {plate.id for plate in plates})


def lost_in(done, plates):
    """The plates that no row is, and about which nobody is asked."""
    asked = {plate.id for question in done.questions for plate in question.plates}
    return tuple(plate.id for plate in plates if plate.id not in asked | set(done.ids))


def test_without_a_record_rows_are_counted_and_given_numbers_passed_over():
    rows = [ListedRow("", "Ada"), ListedRow("2", "Bo"), ListedRow("", "Ida"), ListedRow("b", "Jo")]
    assert number_rows(rows).ids == ("1", "2", "3", "b")


def test_the_record_calls_a_plate_as_before_where_a_spreadsheet_lost_its_zeros():
    rows = [ListedRow("3", "Ada Pell"), ListedRow("001", "Someone Else"), ListedRow("", "Mia Holt")]
    plates = known(["Wren Abara", "Mia Holt", "Ada Pell"])
    assert number_rows(rows, plates).ids == ("003", "001", "002")


def test_two_plates_that_differ_in_their_zeros_stay_two():
    plates = [KnownPlate("002", "Ada", "", 0)]
    assert number_rows([ListedRow("2", "Bo"), ListedRow("002", "Ada")], plates).ids == ("2", "002")


@given(st.data())
def test_sorting_and_inserting_renumber_nothing(data):
    plates = known(NAMES)
    order = data.draw(st.permutations(NAMES))
    for new in data.draw(st.lists(st.sampled_from(["Bo", "Zed Umber", "Kit Lark", "Mia Holt-Vane"]), unique=True)):
        order.insert(data.draw(st.integers(0, len(order))), new)
    done = number_rows(listed(order), plates)
    assert done.questions == () and lost_in(done, plates) == ()
    by_text = dict(zip(order, done.ids, strict=True))
    assert [by_text[name] for name in NAMES] == ["001", "002", "003", "004", "005"]
    assert sorted(new_in(done, plates)) == [f"{n:03d}" for n in range(6, len(order) + 1)]


@given(st.data())
def test_whatever_is_done_to_a_list_no_id_is_given_twice_and_none_of_an_old_plate_to_a_new_text_elsewhere(data):
    texts = st.lists(st.sampled_from([*NAMES, "Mia Hold", "Ada Bell"]), min_size=1, max_size=6)
    before, after = data.draw(texts), data.draw(texts)
    plates = known(before)
    done = number_rows(listed(after), plates)
    ids = [one for one in done.ids if one]
    assert len(ids) == len(set(ids))
    assert all(number > len(before) for number in map(int, new_in(done, plates)))
    asked = {question.place for question in done.questions}
    assert asked == {place for place, one in enumerate(done.ids) if not one}
    perhaps = {plate.id for question in done.questions for plate in question.plates}
    assert perhaps <= {plate.id for plate in plates} - set(ids)


@given(st.data())
def test_a_small_correction_in_its_place_keeps_its_id_while_names_come_in_elsewhere(data):
    at = data.draw(st.integers(0, len(NAMES) - 1))
    corrected = [*NAMES]
    corrected[at] = NAMES[at].replace("a", "aa", 1).replace("Quill", "Quil")
    new = data.draw(st.integers(0, len(NAMES)).filter(lambda place: place not in (at, at + 1)))
    corrected.insert(new, "Kit Lark")
    done = number_rows(listed(corrected), known(NAMES))
    ids = [one for one, text in zip(done.ids, corrected, strict=True) if text != "Kit Lark"]
    assert ids == ["001", "002", "003", "004", "005"] and new_in(done, known(NAMES)) == ("006",)


def test_a_name_that_is_replaced_by_another_is_a_new_plate():
    done = number_rows(listed(["Wren Abara", "Kit Lark", "Mia Holt"]), known(NAMES[:3]))
    assert done.ids == ("001", "004", "003") and done.questions == () and done.free == "005"


def test_who_sorts_and_corrects_in_one_go_is_asked():
    done = number_rows(listed(["Adah Pell", "Wren Abara", "Mia Holt"]), known(["Wren Abara", "Mia Holt", "Ada Pell"]))
    assert done.ids == ("", "001", "002")
    assert [(q.place, [p.id for p in q.plates]) for q in done.questions] == [(0, ["003"])]


def test_two_corrections_that_could_be_each_other_are_asked_about():
    done = number_rows(
        listed(["Wren", "Mia Holz", "Mia Hold", "Otto"]), known(["Wren", "Mia Holt", "Mia Bolt", "Otto"])
    )
    assert [q.place for q in done.questions] == [1, 2]
    assert all({p.id for p in q.plates} == {"002", "003"} for q in done.questions)


def two_of_a_name(*cells):
    return [KnownPlate(f"{n:03d}", "Mia Holt", own, n - 1) for n, own in enumerate(cells, 1)]


def test_equal_names_are_told_apart_by_what_else_stands_in_their_rows():
    rows = [ListedRow("", "Mia Holt", "elm"), ListedRow("", "Kit Lark", "ash"), ListedRow("", "Mia Holt", "oak")]
    assert number_rows(rows, two_of_a_name("oak", "elm")).ids == ("002", "003", "001")


def test_equal_names_keep_their_order_between_their_neighbours():
    plates = known(["Wren", "Mia Holt", "Mia Holt", "Otto"])
    assert number_rows(listed(["Bo", "Wren", "Mia Holt", "Mia Holt", "Otto"]), plates).ids == (
        "005",
        "001",
        "002",
        "003",
        "004",
    )


def test_which_of_two_equal_names_went_is_asked():
    plates = known(["Mia Holt", "Wren", "Otto", "Mia Holt"])
    done = number_rows(listed(["Wren", "Mia Holt", "Otto"]), plates)
    assert done.ids == ("002", "", "003")
    assert [p.id for p in done.questions[0].plates] == ["001", "004"]


def test_a_name_that_comes_back_is_the_plate_that_it_was():
    plates = [*known(["Wren"]), KnownPlate("007", "Mia Holt", "", None)]
    assert number_rows(listed(["Mia Holt", "Wren"]), plates).ids == ("007", "001")
    assert number_rows(listed(["Kit Lark", "Wren"]), plates).ids == ("008", "001")


def test_a_list_that_is_another_one_is_not_compared_letter_by_letter(monkeypatch):
    compared = []
    monkeypatch.setattr("nameplate.record.ids.alike", lambda one, other, **more: compared.append(one) or False)
    plates = known([f"old {n}" for n in range(600)])
    done = number_rows(listed([f"new {n}" for n in range(600)]), plates, {plate.id for plate in plates})
    assert compared == [] and done.questions == () and done.ids[0] == "601" and len(lost_in(done, plates)) == 600


def test_a_short_name_is_another_one_where_a_letter_is_another():
    # four letters of five, and three of four, are alike enough
    for before, after, asked in (("Marit", "Marie", True), ("Anja", "Anya", False)):
        done = number_rows(listed([after, "Otto Quill"]), known(["Otto Quill", before]))
        assert [[p.id for p in q.plates] for q in done.questions] == ([["002"]] if asked else [])


def test_about_a_settled_plate_it_is_asked_where_a_row_could_be_it_at_all():
    def asked(after, settled, before=("Odo", "Ida", "Roberta Lark", "Mia Holt")):
        done = number_rows(listed(after), known(before), settled)
        questions = {after[q.place]: [plate.id for plate in q.plates] for q in done.questions}
        return questions, [plate.id for plate in done.lost], tuple(done.ids[place] for place in done.new)

    # two rows change places, and one of them its spelling: too short to be compared, and no number is lost silently
    swapped = ["Idda", "Odo", "Roberta Lark", "Mia Holt"]
    assert asked(swapped, ()) == ({}, [], ("005",))
    assert asked(swapped, {"001", "002"}) == ({"Idda": ["002"]}, [], ())
    # a shared word, or the place between the same neighbours
    assert asked(["Bobbie Lark", "Mia Holt", "Odo", "Ida"], {"003"}) == ({"Bobbie Lark": ["003"]}, [], ())
    assert asked(["Odo", "Zed Umber", "Roberta Lark", "Mia Holt"], {"002"}) == ({"Zed Umber": ["002"]}, [], ())
    # one goes and one comes, wherever that is
    assert asked(["Odo", "Roberta Lark", "Mia Holt", "Zed Umber"], {"002"}) == ({"Zed Umber": ["002"]}, [], ())
    # strangers come in number: what has gone is told, and they are new
    come = ["Odo", "Roberta Lark", "Mia Holt", "Zed Umber", "Kit Vane"]
    assert asked(come, {"002"}) == ({}, ["002"], ("005", "006"))
    assert asked(come[:3], {"002", "003"}) == ({}, ["002"], ())


@given(st.data())
def test_with_every_plate_settled_a_list_that_is_sorted_and_grows_is_never_asked_about(data):
    order = data.draw(st.permutations(NAMES))
    order += data.draw(st.lists(st.sampled_from(["Bo", "Ada Holt", "Kit Lark", "Mia Holt-Vane"]), unique=True))
    done = number_rows(listed(order), known(NAMES), {f"{n:03d}" for n in range(1, 6)})
    assert done.questions == () and done.lost == () and done.new == tuple(range(5, len(order)))
