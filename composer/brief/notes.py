"""Worth saying about a brief though no fault: music at an unusual tempo, what its reader noted or was not sure of."""

from __future__ import annotations

from composer.problem import Problem


def notes_on(problem: Problem) -> list[str]:
    """Sentences for the user; a problem without peculiarities has none."""
    notes = list(problem.timeline.notes)
    if not problem.brief.music.corrections.trust:
        doubts = problem.timeline.doubts
        notes += [f"The music is not surely heard: {doubt}" for doubt in doubts]
        if doubts:
            notes.append("Do not promise this routine before the music is settled (music.corrections in the brief).")
    tempo = problem.timeline.beats_per_minute
    for name in problem.brief.dances:
        page = problem.catalogue.dances.get(name)
        if page is not None and not page.tempo.least <= tempo <= page.tempo.most:
            usual = f"{page.tempo.least:g} to {page.tempo.most:g}"
            notes.append(
                f"{page.name} is usually danced at {usual} beats a minute ({page.tempo.source}); "
                f"this music has {tempo:.0f}."
            )
    return notes
