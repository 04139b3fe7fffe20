"""Stages of a run: pieces of work on one corridor, one after the other."""

from __future__ import annotations

from routescreen.runlog import Pieces, RunLog


def _log(*ticks_s: float) -> RunLog:
    ticks = iter([0.0, *ticks_s])
    return RunLog(clock=lambda: next(ticks), memory=lambda: 100.0)


def test_each_piece_lasts_until_the_next_begins() -> None:
    log = _log(1.0, 1.0, 4.0, 4.0, 4.0, 9.0)  # begin and line, end, begin and line, end
    pieces = Pieces(log, "west")
    pieces.begin("frame")
    pieces.begin("search")
    pieces.close()
    assert [(s.name, s.seconds, s.corridor_id) for s in log.stages] == [
        ("frame", 3.0, "west"),
        ("search", 5.0, "west"),
    ]


def test_work_taken_up_again_is_added_and_written_once() -> None:
    lines: list[str] = []
    clock = iter(float(k) for k in range(100))
    log = RunLog(lines.append, clock=lambda: next(clock), memory=lambda: 100.0)
    pieces = Pieces(log, "west")
    for name in ("search", "audit", "search", "search", "audit"):
        pieces.begin(name)
    pieces.close()
    assert [stage.name for stage in log.stages] == ["search", "audit"]
    assert sum(line.endswith("search") for line in lines) == 1
    # ticks: line 1, begin 2, end 3, line 4, begin 5, end 6, begin 7, end 8, begin 9, end 10
    assert [stage.seconds for stage in log.stages] == [1.0 + 1.0, 1.0 + 1.0]


def test_a_stage_made_of_pieces_is_written_and_not_kept() -> None:
    lines: list[str] = []
    log = RunLog(lines.append, memory=lambda: None)
    with log.stage("screen west", is_kept=False):
        pass
    assert log.stages == []
    assert len(lines) == 2
