from handsfree.language.matcher import Matcher


def test_tags_come_in_the_order_of_the_words(grammar_of):
    match = Matcher(grammar_of("<top> = (one {1} | two {2})+ {end};"))
    assert match.parses(("two", "one"), "top") == {("2", "1", "end")}


def test_every_way_to_read_a_sentence_is_found(grammar_of):
    match = Matcher(grammar_of("<top> = <a> {first} | [big] <a> {second};\n<a> = door [leaf];"))
    assert match.parses(("door", "leaf"), "top") == {("first",), ("second",)}
    assert match.parses(("big", "door"), "top") == {("second",)}


def test_the_whole_sentence_must_match(grammar_of):
    match = Matcher(grammar_of("<top> = left [leaf] {x};"))
    assert not match.parses(("left", "leaf", "leaf"), "top")
    assert not match.parses(("leaf",), "top")
    assert not match.parses((), "top")


def test_a_tag_on_an_optional_item_is_given_even_when_the_item_is_left_out(grammar_of):
    match = Matcher(grammar_of("<top> = six [seconds] {unit};"))
    assert match.parses(("six",), "top") == match.parses(("six", "seconds"), "top") == {("unit",)}


def test_a_repetition_of_nothing_comes_to_an_end(grammar_of):
    match = Matcher(grammar_of("<top> = ([very] {v} | <NULL>)* big;"))
    assert match.parses(("big",), "top") == {()}
    assert ("v", "v") in match.parses(("very", "very", "big"), "top")
