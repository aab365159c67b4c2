"""Problems are told as sentences with their place."""

import pytest

from bom.kernel.errors import Problem, ProblemError


def test_a_problem_reads_as_place_sentence_and_mend():
    problem = Problem("The finish “gold” is not known", "orders.xlsx, row 7", "Write galvanised or duplex")

    assert str(problem) == ("orders.xlsx, row 7: The finish “gold” is not known. Write galvanised or duplex.")


def test_a_problem_without_place_or_mend_is_its_sentence():
    assert str(Problem("The sheet is gone.")) == "The sheet is gone."


def test_within_puts_the_outer_place_first():
    assert Problem("It is empty", "line 1").within("bill of A").where == "bill of A, line 1"
    assert Problem("It is empty").within("bill of A").where == "bill of A"


def test_an_error_lists_every_problem_in_order():
    error = ProblemError("First", Problem("Second", "row 2"))

    assert str(error) == "First.\nrow 2: Second."
    assert error.within("file").problems == (Problem("First", "file"), Problem("Second", "file, row 2"))


def test_an_error_without_problems_is_a_mistake_of_the_caller():
    with pytest.raises(ValueError, match="at least one problem"):
        ProblemError()
