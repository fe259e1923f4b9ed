from .bodies import Bodies as Bodies, body_rectangles as body_rectangles
from .bow_twist import bow_height as bow_height, twist_height as twist_height
from .covering import Covering as Covering
from .edges import (
    Bounds as Bounds,
    Box as Box,
    BoxSide as BoxSide,
    contour_distance as contour_distance,
    cutout_distance as cutout_distance,
    point_distance as point_distance,
    rail_width_needed as rail_width_needed,
    transported_distance as transported_distance,
)
from .fiducials import (
    Arrangement as Arrangement,
    Mark as Mark,
    arrangement as arrangement,
    clear_rings as clear_rings,
    collect_marks as collect_marks,
    diameter_spread as diameter_spread,
    edge_distances as edge_distances,
    is_local as is_local,
    local_marks as local_marks,
    ring_needed as ring_needed,
    shown_on as shown_on,
)
from .height_order import placed_after_taller as placed_after_taller, tall_neighbour_gap as tall_neighbour_gap
from .orientation import orient_by_fit as orient_by_fit
from .panel import (
    Stepping as Stepping,
    lies_along as lies_along,
    line_distance as line_distance,
    separation_lines as separation_lines,
    step_points as step_points,
    stepping as stepping,
)
from .panel_proposal import (
    Layout as Layout,
    PanelProposal as PanelProposal,
    Proposals as Proposals,
    propose_panels as propose_panels,
    states_its_largest as states_its_largest,
)
from .second_side import (
    FirstSide as FirstSide,
    SideLoad as SideLoad,
    hanging_load as hanging_load,
    propose_first as propose_first,
    side_loads as side_loads,
    tallest as tallest,
)
from .spacing import Pairs as Pairs, pairs as pairs
from .transport import (
    SideProfile as SideProfile,
    TransportLimits as TransportLimits,
    Travel as Travel,
    Wish as Wish,
    aspect as aspect,
    bare_mass as bare_mass,
    board_area as board_area,
    choose_travel as choose_travel,
    corner_radius as corner_radius,
    cutout_behind_edge as cutout_behind_edge,
    hole_at_edge as hole_at_edge,
    ratio as ratio,
    side_profiles as side_profiles,
)
