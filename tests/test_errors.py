"""What a refused value says, and how the place it came from is told."""

from moldgen.errors import SpecError


def test_a_failure_is_told_of_another_field():
    """The place changes; rule, value and advice stay, and so does the failure it was made from."""
    problem = SpecError("gauge_mm", "above 0 mm", "-1 mm", "Measure the sheet.")

    told = problem.at("job.toml: sheet: gauge")

    assert str(told) == "job.toml: sheet: gauge must be above 0 mm (got -1 mm). Measure the sheet."
    assert (told.rule, told.got, told.hint) == (problem.rule, problem.got, problem.hint)
    assert problem.field == "gauge_mm"
