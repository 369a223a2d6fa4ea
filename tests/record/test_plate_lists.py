from nameplate.record.plate_lists import in_ranges, plates_in


def test_long_numbers_of_goods_are_ranges_and_those_too_long_to_be_read_are_ids():
    # GS1 General Specifications (from memory): a GTIN has up to 14 digits, an SSCC 18; 02 is kept for numbers of a shop
    for first in ("02000000000110", "020000000000000110"):
        plates = [f"{int(first) + n:0{len(first)}d}" for n in range(3)]
        assert list(plates_in(f"{plates[0]}-{plates[2]}")) == plates
        assert in_ranges(plates) == f"{plates[0]}-{plates[2]}"
    endless = "1" * 5000  # Python refuses to read more than 4300 digits as a number
    assert list(plates_in(f"{endless}-{endless}")) == [f"{endless}-{endless}"]
