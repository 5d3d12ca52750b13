"""Ids that the contract of the findings file fixes: a lexicon may add some, never drop one."""


def _ids(words: str) -> frozenset[str]:
    return frozenset(words.split())


PARTS = _ids(
    """
    wheel rim spokes hub axle tire valve_stem fork fork_boot fork_seal triple_clamp swingarm shock
    final_drive drive_chain drive_belt sprocket a_arm cv_boot ski track suspension
    brake_rotor brake_caliper brake_line brake_reservoir brake_lever clutch_lever brake_pedal
    shift_lever throttle handlebar bar_end grip hand_control steering_wheel cable
    headlight auxiliary_light turn_signal tail_light reflector windshield mirror instrument display
    fender fuel_tank fuel_cap console fairing cowl hood side_cover tail_section door cargo_bed roof
    roll_cage bumper skid_plate hull deck tunnel trim badge decal pinstripe license_plate_bracket
    seat passenger_seat backrest armrest floorboard footpeg luggage_rack saddlebag trunk floor_mat
    engine engine_case cylinder cylinder_head rocker_cover clutch_cover stator_cover oil_pan
    oil_cooler radiator air_cleaner carburetor exhaust header_pipe heat_shield impeller ride_plate
    frame subframe crash_bar kickstand center_stand belly_pan hitch winch trailer
    battery wiring horn ignition charger_port
    """
)

# What a motorcycle does not have.
NOT_ON_A_MOTORCYCLE = _ids(
    """
    a_arm cv_boot ski track steering_wheel hood door cargo_bed roof roll_cage hull deck tunnel
    impeller ride_plate winch
    """
)

DEFECTS = _ids(
    """
    scratch scuff chip swirl fading discoloration peeling flaking blister paint_run weathering
    hazing residue stain heat_bluing pitting rust corrosion oxidation dent gouge crack hole bent
    broken melted tear cut worn_through dry_rot mildew wear missing loose misaligned leak seepage
    repaint touch_up prior_repair color_mismatch replaced_part
    """
)

# Parts in the middle of the machine, on which the side where the speaker stands says nothing
# (tests/narrations/README.md, rule 3); a fender only on a motorcycle or snowmobile.
CENTRE_LINE = _ids(
    """
    wheel rim spokes hub axle tire valve_stem triple_clamp headlight tail_light windshield
    instrument display handlebar seat passenger_seat backrest steering_wheel fuel_cap console
    luggage_rack trunk license_plate_bracket radiator hood roof cargo_bed bumper hull deck track
    tunnel belly_pan skid_plate engine battery final_drive winch hitch horn frame shock drive_chain
    drive_belt sprocket badge impeller ride_plate center_stand
    """
)
