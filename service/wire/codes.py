"""Every code that an answer may carry for programs to branch on, and when it is given; problem details and health."""

from __future__ import annotations

from service.http.problem_kinds import KINDS
from service.wire.base import WireSchema
from service.wire.fields import Code, Described, Flag, Json, Many, One, Side, Words
from service.wire.numbers import Count

NOT_CUT = {
    "stock_exhausted": "what there is of limited stock is used up",
    "ends_impossible": "no stick there is has the factory ends that the piece needs",
}
"""Why pieces stay uncut."""

NOTICES = {
    "planning_cut_short": "the time was too short to try more than simple plans",
    "order_over_stock": "full cartons or spares need more sticks than there are",
    "offcut_taken": "others have what was to be used of the rack",
    "rack_left_out": "others took it again and again, and nothing of the rack is used",
    "below_minimum": "the goods stay below the minimum order, and more can't be had",
    "second_lot": "what is to be of one lot is more than there is",
    "spares_over_stock": "more spares are asked for than are available of the length used most",
    "walls_apart": "what it takes more that no stick serves two walls",
    "put_aside": "more pieces lie about at once than was asked for",
    "lap_spacing": "laps of adjacent courses are too near to one another",
    "lap_in_line": "laps of courses near to one another are in line",
    "lap_over_opening": "a lap falls where it was to be kept clear",
    "short_piece": "a piece of a run is shorter than was asked for",
    "field_end_lapped": "a field end is lapped: trim hem and lock there",
    "pattern": "a take-off's sloping cut needs a pattern cut on site",
    "bend": "an end is upright for a part, then slopes",
    "odd_end": "an end turns more than once: it is cut to a pattern of the whole end",
    "too_short": "a corner of a wall is too short for a panel and is left out",
    "peak": "a piece at a peak is face-nailed",
    "corner_unnamed": "posts that may stand at one corner of two walls are counted twice",
    "butted": "trim longer than its stock is butted, for it has no lap",
    "post_spliced": "a post longer than its stock is spliced",
    "no_material": "what is listed has no material and is not planned",
    "two_people": "soffit panels that take two people to put up",
    "soffit_unsupported": "soffit reaches farther than it may without a nailer",
    "sliver": "a course line leaves a strip too low to hold",
    "strip_below": "a strip between a floor and the starter is to be closed",
    "near_ground": "siding begins too near to the ground",
    "temperature": "which gaps the temperature stands for",
    "temperature_conflict": "sources disagree at exactly this temperature",
}
"""What is to be known of a plan or a take-off."""

ERRORS = {
    "missing": "what must be there is not",
    "null": "null where a value must be",
    "unknown_field": "a field that there is not",
    "not_called": "an address that this server does not call back",
    "wrong_type": "a value of another type than is wanted: text for a number, a list for an object",
    "out_of_range": "a number is too small or too large",
    "not_whole": "a number must be whole",
    "too_many_decimals": "a number has more decimals than are kept",
    "wrong_size": "a list or a text has too few or too many entries, lines or characters",
    "control_character": "a text holds a character that can't be printed",
    "not_a_choice": "none of the words there are",
    "unreadable_file": "a file that can't be read as a list; the detail says what to do",
    "wrong_form": "a date, time, time zone, pitch, amount or place is not written as one",
    "wrong_order": "an end comes before its beginning",
    "needs_another": "makes sense only together with another field, or with what its fellows have",
    "id_twice": "two entries of one id",
    "id_unknown": "the id of something that the request has not",
    "not_in_catalogue": "no material of the catalogue, or one of which nothing is sold yet",
    "other_length": "a stock length is longer or shorter than the same at another date",
    "too_many_pieces": "more pieces, items or offcuts than one request may ask for",
    "breaks_unordered": "price breaks do not rise in their numbers of sticks",
    "break_rises": "a price rises with the number of sticks",
    "worth_its_price": "a whole stick would be worth as much as it costs",
    "not_a_length": "this is no length",
    "improper_fraction": "a fraction that is no part of an inch or a foot",
    "length_out_of_range": "a length is too short or too long",
    "ambiguous_length": "a length has several meanings, which `readings` lists",
    "longer_than_stock": "a piece is longer than every stock length and may not be lapped",
    "may_not_be_lapped": "an end is to be lapped of a material that may not be",
    "nothing_left_to_cut": "gaps take more than the stretch is long",
    "run_too_long": "a run takes more pieces than can be planned",
    "room_in_run": "room is asked for beside a run, which takes several pieces",
    "shortest_piece_too_long": "no stock length is as long as the shortest piece allowed",
    "gap_between_factory_ends": "factory ends can't meet with a negative lap",
    "cut_out_outside": "a cut-out or rip that no piece of its item could carry",
    "runs_overlap": "a run overlaps another run or a piece of its course on the wall",
    "job_twice": "a job stands twice in the week",
    "date_outside_week": "a date is in another week",
    "before_any_delivery": "a job's date comes before the first delivery, and nothing is on hand",
    "delivery_twice": "two deliveries on one day",
    "report_twice": "two reports of one day",
    "material_unknown": "a material that the week has not",
    "stock_unknown": "a stock length that the material has not",
    "offcut_twice": "two offcuts of one id",
    "stock_twice": "one stock length is listed twice",
    "used_too_many": "more sticks are reported used than came",
    "more_than_used": "more is reported cut and kept than can have come out of what was used",
    "offcut_too_long": "an offcut kept is longer than what it can have come from",
    "day_to_come": "a report is of a day that has not begun",
    "offcut_unknown": "an offcut that is not on hand that day",
    "piece_unknown": "an item that the job has not",
    "cut_already": "another item, or none, in the place of one that is reported cut",
    "no_sheet": "a report as planned of a day that has no sheet",
    "not_on_sheet": "more pieces are said not to be cut than the sheet has",
    "mark_unclear": "a mark that the job has not, or has on several items",
    "cut_too_many": "more pieces reported than the item has",
    "missing_too_many": "more sticks are reported missing than could be",
    "rack_unknown": "a label that nothing on the rack has",
    "rack_reserved": "what lies on the rack is held by a plan or a week, which the detail names",
    "rack_too_few": "more is reported used than lies on the rack",
    "rack_full": "the rack has no room for more labels",
    "label_twice": "a label that something on the rack, or of the request, has already",
    "nothing_measured": "no wall, ceiling or eave was measured",
    "no_exposure": "walls need an exposure",
    "no_coverage": "soffit needs the width that a panel covers",
    "no_face": "mitred channel needs the width of its face",
    "no_material": "walls need a panel",
    "unknown_panel": "what covers a wall is none of the panels",
    "taller_than_stock": "an upright panel is longer than its stock",
    "unknown_material": "what serves for something is none of the materials",
    "corner_met_thrice": "more than two eaves name one corner",
    "corner_disagrees": "two eaves, or two walls, turn their corner in ways that do not fit",
    "walls_cross": "more than two walls end at one corner at one height, or both ends of one",
    "eave_too_short": "an eave is no longer than what its inside corners take off it",
    "named_twice": "two of one kind have one id",
    "too_many_courses": "more courses than one take-off may have",
    "too_many_openings": "more openings than one take-off may have",
    "no_size": "something has no width or no height",
    "outline_crosses": "an outline cuts itself",
    "outline_not_closed": "an outline encloses nothing",
    "peak_too_low": "a gable is no higher than its eaves",
    "outline_doubles_back": "an outline goes back over itself",
    "openings_overlap": "two openings overlap",
    "opening_off_the_wall": "an opening lies outside its wall",
    "opening_sticks_out": "an opening lies partly outside its wall",
    "takes_up_missing": "a post must say how much it takes up",
    "lower_than_a_course": "a wall is lower than one course",
    "floor_above_top": "a floor lies above the wall's top",
    "meets_nonsense": "an edge can't meet that there",
}
"""What is wrong with a place in a request; where there is no code, the words say all there is to say."""

FAULTS = {
    "misstated": "a figure or text that the plan does not come to",
    "material": "a material is missing, twice, or none of the request's",
    "settings": "settings that are not the material's",
    "stick": "a stick's pieces are not those of its pattern",
    "stick_name": "two sticks of one name",
    "stock": "a stock length that the material has not, or more sticks than there are",
    "offcut": "an offcut that is not on hand, or is used twice",
    "overfull": "pieces, room and kerf are longer than the stick",
    "end": "an end that is not what the cut makes it",
    "left_over": "what is left of a stick is not what is stated",
    "piece": "pieces missing, twice, or of no item",
    "cut_length": "a piece cut at a wrong length",
    "run": "a run that is not what its pieces make",
    "coverage": "a run that is not covered as asked",
    "bill": "the order does not come to what its bill says, or is below the minimum order",
    "undeclared_breach": "a rule is broken without a warning",
    "false_breach": "a warning of a rule that is not broken",
    "not_cut": "pieces called uncut that are cut, or the other way",
    "cost": "a cost that the sticks do not come to",
    "fewest_laps": "a plan of the fewest laps is told of that has too many, or is the better one",
    "lap_cost": "laps that do not count for what is stated",
    "reckoning": "cuts, patterns and offcuts do not count for what is stated",
    "bound": "a bound that its proof does not come to",
    "order": "an order that is not what the sticks need",
    "walls_apart": "a stick serves two walls where each is to be kept to itself",
    "looks": "counts of laps or of pieces put aside that the plan does not come to",
}
"""What is wrong with a plan that was sent to be checked."""

LINES = {
    "ambiguous_length": "a length has several meanings, which `readings` lists",
    "not_a_length": ERRORS["not_a_length"],
    "improper_fraction": ERRORS["improper_fraction"],
    "length_out_of_range": ERRORS["length_out_of_range"],
    "quantity_out_of_range": "a number of pieces is 0 or too large",
    "no_length": "a number of pieces without a length",
    "no_quantity": "a length without a number of pieces",
    "two_lengths": "two numbers that could each be the length",
    "two_quantities": "two numbers that could each be the number of pieces",
    "not_pieces": "what stands for the number of pieces is none",
    "unclear_quantity": "a number of pieces with several meanings",
    "unclear_material": "not clear which pieces, if any, a material is of",
    "unknown_material": "nearly the name of a material, but not quite",
    "unexplained_number": "a number that is neither length nor pieces",
    "unclear_line": "not clear whether this is a piece to cut",
    "unclear_ends": "ends of several pieces on one line",
    "unclear_ditto": "nothing above that it could repeat",
    "loose_allowance": "an allowance without a length",
    "implausible_length": "a length that no stick has",
    "total_differs": "a total that the lines above do not come to",
    "line_too_long": "more characters than a line, a mark or a name may have",
}
"""Why a line of a pasted list can't be read."""

FAILURES = {
    "unplannable": "the request can't be planned; the detail says why",
    "plan_refused": "the checker refused the plan: a fault of this program",
    "timed_out": "planning took far longer than it was allowed",
    "out_of_memory": "planning took more memory than there is",
    "worker_died": "the process planning it died again and again",
    "worker_lost": "workers went away again and again while they planned it",
    "unreadable": "what was kept of the plan can't be read",
    "internal_error": "a fault of this program, which was logged",
}
"""Why there is no plan."""
_KINDS = "; ".join(f"`/problems/{name}`: {kind.title}" for name, kind in KINDS.items())


class KindField(Described):
    """The kind of a problem, as the address of its explanation."""

    def shape(self, side: Side) -> Json:
        """One of the addresses."""
        del side
        kinds = [*(f"/problems/{name}" for name in KINDS), "about:blank"]
        return {"type": "string", "format": "uri-reference", "enum": kinds}


class ErrorSchema(WireSchema):
    """What is wrong with one place of a request."""

    pointer = Words("Which place, as a JSON pointer into the body; `#` is the whole.")
    detail = Words("What is wrong and what to do, in words.")
    code = Code("What is wrong, for programs to act on.", ERRORS)
    readings = Many("What an ambiguous length may mean.", Words(), sparse=True)


class ProblemSchema(WireSchema):
    """Why a request was not answered as asked (RFC 9457)."""

    type = KindField(f"Kind of the problem, as an address that explains it. {_KINDS}; `about:blank`: see the status.")
    title = Words("The kind in words.")
    status = Count("The HTTP status.", 400, 599)
    detail = Words("What went wrong this time.", sparse=True)
    errors = Many("Every fault of the request at once, 200 at most.", ErrorSchema, sparse=True)
    instance = Words("The address that was asked.", sparse=True)


class ChecksSchema(WireSchema):
    """What a plan needs."""

    redis = Flag("Whether the store answers.")
    writable = Flag("Whether Redis takes what is written: its memory and its disk have room.")
    rounds = Flag("Whether lost plans and nights were looked after lately.")
    workers = Flag("Whether a worker that takes any plan is alive.")
    solver = Flag("Whether a small plan comes out right.")


class HealthSchema(WireSchema):
    """Whether this process is alive, or ready to plan."""

    status = Words("`live`, `ready` or `not ready`.")
    checks = One("What was checked.", ChecksSchema, sparse=True)
