from nameplate.plain_letters import folded


def test_folded_keeps_case_and_spells_digraphs():
    assert folded("Þór Æsa ÆSA ß") == "Thor Aesa AESA ss"
    assert folded("ǿ") == "o"
    assert folded("Ελένη") == "Ελενη"
