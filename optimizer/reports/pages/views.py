"""The sections with a wheel's linkage and with its limits over travel and lock."""

from collections.abc import Iterator, Sequence

from optimizer.models.pictures import WheelViews
from optimizer.reports.pages.limit_maps import map_figure
from optimizer.reports.pages.linkage_views import linkage_figures
from optimizer.reports.pages.parts import Section
from optimizer.wording.headings import HEADINGS
from optimizer.wording.reader import Reader


def view_sections(wheels: Sequence[WheelViews], reader: Reader) -> Iterator[Section]:
    """Linkages of all wheels, then their limits."""
    for one in wheels:
        figures = linkage_figures(f"linkage-{one.side}", one.linkage, one.side, reader)
        yield Section(f"{reader.of_wheel(one.side)}{HEADINGS['linkage']}", figures=figures)
    for one in wheels:
        figures = [map_figure(f"map-{one.side}-{k}", of, reader) for k, of in enumerate(one.maps)]
        yield Section(f"{reader.of_wheel(one.side)}{HEADINGS['limits']}", figures=figures)
