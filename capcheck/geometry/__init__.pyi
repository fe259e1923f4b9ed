from .bodies import Bodies as Bodies, body_rectangles as body_rectangles
from .contour_sides import (
    SideProfile as SideProfile,
    corner_radius as corner_radius,
    cutout_behind_edge as cutout_behind_edge,
    hole_at_edge as hole_at_edge,
    side_profiles as side_profiles,
)
from .covering import Covering as Covering
from .crowds import Crowd as Crowd, gathered as gathered
from .depanelling import (
    across_distance as across_distance,
    depanelling_lines as depanelling_lines,
    line_distance as line_distance,
)
from .drawn_parts import without_drawn_parts as without_drawn_parts
from .edges import (
    Bounds as Bounds,
    BoxSide as BoxSide,
    contour_distance as contour_distance,
    cutout_distance as cutout_distance,
    hole_distance as hole_distance,
    least_distance as least_distance,
    point_distance as point_distance,
    rail_width_needed as rail_width_needed,
    transported_distance as transported_distance,
)
from .fiducials import (
    Arrangement as Arrangement,
    FoundFiducial as FoundFiducial,
    are_local as are_local,
    arrangement as arrangement,
    clear_rings as clear_rings,
    collect_fiducials as collect_fiducials,
    diameter_spread as diameter_spread,
    edge_distances as edge_distances,
    local_fiducials as local_fiducials,
    ring_needed as ring_needed,
    shown_on as shown_on,
)
from .found_pairs import Pairs as Pairs
from .frame_by_bodies import doubt_frame as doubt_frame
from .height_order import placed_after_taller as placed_after_taller, tall_neighbour_gap as tall_neighbour_gap
from .mirror_by_bodies import doubt_mirror as doubt_mirror
from .orientation import near_parts as near_parts, orient_by_fit as orient_by_fit
from .panel_proposal import (
    Layout as Layout,
    PanelProposal as PanelProposal,
    Proposals as Proposals,
    propose_panels as propose_panels,
    states_its_largest as states_its_largest,
)
from .proportions import (
    aspect as aspect,
    bare_mass as bare_mass,
    board_area as board_area,
    bow_height as bow_height,
    ratio as ratio,
    twist_height as twist_height,
)
from .room_for_sizes import told_by_room as told_by_room
from .second_side import (
    FirstSide as FirstSide,
    SideLoad as SideLoad,
    hanging_load as hanging_load,
    propose_first as propose_first,
    side_loads as side_loads,
    tallest as tallest,
)
from .spacing import pairs as pairs
from .touching import may_touch as may_touch
from .travel import (
    TransportLimits as TransportLimits,
    Travel as Travel,
    TravelReason as TravelReason,
    Wish as Wish,
    choose_travel as choose_travel,
)
