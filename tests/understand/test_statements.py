"""Classes of sentences as salespeople speak them: what each states, what it calls clean."""

import pytest

from pipeline.models import Kind
from tests.understand.talks import clean, flaws, pairs, read


@pytest.mark.parametrize(
    "sentence",
    [
        "We checked the frame for cracks and didn't find any.",
        "Watch you don't crack your shin on that peg.",
        "You could scratch the tank with a belt buckle.",
        "It'll leak till I die.",
        "These get cracked side covers.",
        "That's not a crack, it's a seam in the mold.",
        "A new seat is like four hundred bucks.",
        "It needs a new mirror.",
        "There's a new windshield on order.",
        "I wouldn't call that a dent in the tank.",
        "It's got a scratch-resistant windshield.",
        "The recall for the cracked frames doesn't cover this one.",
        "The kickstand sticks out.",
        "The tail light's got, no, sorry, that's a spider web, tail light's good.",
        "The side cover is cracked, no, sorry, it's not cracked.",
        "My uncle's had a dent in the tank.",
        "A fella asked me was the frame bent.",
        "These handlebars crack me up.",
        "Is that oil on the floor, nah, that's off the van.",
        "The crash bar went over when it fell off a stand.",
        "Todd fixed my sister's bike.",
        "They want two hundred for a new windshield.",
        "Regarding the tank, a new panel is ninety dollars.",
        "Get that tank straightened before you ride.",
        "The price is fair, and I'm told there's a hole in the market.",
        "That smell's from when the belt let go.",
        "I scrubbed the fender till my arm about fell off.",
        "The brake pedal wants grease is all.",
        "The tank is hand-painted.",
        "I'd just get some glue in the tail section.",
        "The left saddlebag wants some plastic weld.",
        "There's a lady in town who'll plastic weld that saddlebag.",
        "A bit of plastic welding would fix the fender.",
        "So get a new one, seats are cheap.",
        "I've got a new one for the mirror in the back.",
        "Oil on the floor there is from the bike next door, not from this one.",
        "A scuff on the crash bar, from a man who never fell?",
        "Cracked fairing, torn seat, none of that.",
    ],
)
def test_no_flaw_is_stated(sentence: str) -> None:
    assert pairs(sentence) == []


@pytest.mark.parametrize(
    ("sentence", "stated"),
    [
        ("The hull's nice, no deep scratches, a couple light ones.", ["hull scratch"]),
        ("Not gonna call that a dent, more of a crease, in the fender.", ["fender dent"]),
        ("It isn't a crack so much as a scratch in the windshield.", ["windshield scratch"]),
        ("I wish I could tell you the seat wasn't torn, but it is.", ["seat tear"]),
        ("If the light hits it you can see a ding in the tank.", ["fuel_tank dent"]),
        ("A scratch that runs from the seat to the headlight on the tank.", ["fuel_tank scratch"]),
        ("Just below the badge on the tank, a chip.", ["fuel_tank chip"]),
        ("On the front fender, a chip, and on the rear fender, a chip.",
         ["fender chip", "fender chip"]),
        ("There's a tear in the seat, but it might just be a crease.", ["seat tear"]),
        ("The cowl's cracked where the bag rubbed.", ["cowl crack"]),
        ("The fork's dry, the boots are cracked.", ["fork_boot crack"]),
        ("New tires, new chain.", ["tire replaced_part", "drive_chain replaced_part"]),
        ("The bungee hook scratched the rear fender.", ["fender scratch"]),
        ("Rear tire is toast, it's worn through.", ["tire worn_through"]),
        ("The fender's got a hole in it where a luggage rack used to be.", ["fender hole"]),
        ("The seat has a nick in it.", ["seat cut"]),
        ("We touched up the chips on the fender.", ["fender touch_up"]),
        ("The rear tire is worn, pretty bad, actually, so I'd put a new one on.", ["tire wear"]),
        ("The muffler, which is what people always ask about, has a dent.", ["exhaust dent"]),
        ("The swingarm has chips in its paint from the chain.", ["swingarm chip"]),
        ("The side cover beneath the seat is loose.", ["side_cover loose"]),
        ("The fender is melted over the muffler, a patch of it.", ["fender melted"]),
        ("The horn doesn't work, and that crack in the tank will want watching.",
         ["horn inoperative", "fuel_tank crack"]),
        ("The tank has a dent, can you see it?", ["fuel_tank dent"]),
        ("Rear tire bald as my uncle.", ["tire wear"]),
        ("You have a repainted tank.", ["fuel_tank repaint"]),
        ("We haven't touched up the chips on the fender.", ["fender chip"]),
        ("The rim has a flat spot.", ["rim dent"]),
        ("The tire has a flat spot.", ["tire wear"]),
        ("A chip on the tank and one on the fender.", ["fuel_tank chip", "fender chip"]),
        ("The floorboard however is bent.", ["floorboard bent"]),
        ("The trunk which has a dent is the old one.", ["trunk dent"]),
        ("The fairing has a scratch that my brother blames on barbed wire.", ["fairing scratch"]),
        ("The tank has a dent, and my uncle's had one too.", ["fuel_tank dent"]),
        ("Torn grip here, and the running board's flaking.", ["grip tear", "floorboard flaking"]),
        ("On the rear fender, where a sticker used to live, there's residue.", ["fender residue"]),
        ("The fairing, there's a crack coming off the speaker.", ["fairing crack"]),
        ("The rear tire's weather-checked, the chain's rusty and so's the sprocket.",
         ["tire dry_rot", "drive_chain rust", "sprocket rust"]),
        ("The clutch cover's got a crack, and it's been repaired.",
         ["clutch_cover crack", "clutch_cover prior_repair"]),
        ("The windshield had a crack, that has been repaired.", ["windshield prior_repair"]),
        ("The rear tire might be plugged.", ["tire prior_repair"]),
        ("The kickstand has lost some of its finish to rust.", ["kickstand rust"]),
        ("Chain guide, worn through.", ["other worn_through"]),
        ("The fender is off color compared to the tank.", ["fender color_mismatch"]),
        ("Rear wheel's bent, it wobbles.", ["wheel bent"]),
        ("The grip's torn, like a half-inch tear.", ["grip tear"]),
        ("Front fender is scuffed up from the dock, and it's coming loose.",
         ["fender scuff", "fender loose"]),
        ("Rear tire's worn in the middle.", ["tire wear"]),
        ("Somebody pulled a sticker off the tank, so you've got residue there.",
         ["fuel_tank residue"]),
        ("The paint's flaking off the kickstand.", ["kickstand flaking"]),
        ("The chain's rusty, which, I mean, it sat outside.", ["drive_chain rust"]),
        ("The fender is chipped and the wheel has them too.", ["fender chip", "wheel chip"]),
        ("The mirror has pinstripes, which is to say light scratches.", ["mirror scratch"]),
        ("The seat's got a tear in it, somebody stuck duct tape on it.",
         ["seat tear", "seat prior_repair"]),
    ],
)  # fmt: skip
def test_flaws(sentence: str, stated: list[str]) -> None:
    kind: Kind = "watercraft" if "hull" in sentence else "motorcycle"
    assert pairs(sentence, kind=kind) == stated


@pytest.mark.parametrize(
    ("sentence", "places"),
    [
        ("A dent in the left bag and a scratch on the right.", ["left", "right"]),
        ("No cracks in the left bag, but there's one in the right.", ["right"]),
        ("Other than a scuff on the left bag, the bags are really nice.", ["left"]),
        ("The tail light's cracked just above the plate on the right.", ["right"]),
        ("Seat's worn, left mirror's cracked, and the right mirror's about the same.",
         [None, "left", "right"]),
        ("The forks leak, the left worse than the right.", [None]),
        ("The left grip is torn, and the mirror on that side is loose.", ["left", "left"]),
        ("Left grip's worn, no, sorry, right grip's worn.", ["right"]),
        ("That left the bar end scuffed.", [None]),
        ("The chain and the rear sprocket are both badly worn.", [None, None]),
    ],
)  # fmt: skip
def test_sides(sentence: str, places: list[str | None]) -> None:
    assert [side for side, *_ in flaws(sentence)] == places


@pytest.mark.parametrize(
    ("sentence", "position"),
    [
        ("Rear, I mean front, fender has a crack.", "front"),
        ("You can see the dent in the tank from the front.", None),
        ("The turn signal underneath it is cracked.", None),
        ("The saddlebag's got scuffing on the outside of the bag.", "outer"),
        ("The windshield is cracked, and along its lower edge there are two chips.", None),
        ("Low down on the fairing there are stone chips.", "lower"),
        ("The hand guard in front of it copped a crack.", None),
    ],
)
def test_positions(sentence: str, position: str | None) -> None:
    assert read(sentence).statements[0].place.position == position


@pytest.mark.parametrize(
    ("sentence", "parts"),
    [
        ("I was worried about rust on the frame but there isn't any.", ["frame"]),
        ("Looked for leaks on the engine, found none.", ["engine"]),
        ("No corrosion on the engine, none on the wheels.", ["engine", "wheel"]),
        ("Other than the scratch I showed you the fender's spotless.", ["fender"]),
        ("Except for the seat, which is torn, it's a really clean bike.", []),
        ("There's a ding in the tank, no paint broke.", []),
        ("The fender's never been painted.", []),
        ("The tank has a dent but it's not punched through.", []),
        ("The frame is straight, the fork is not.", ["frame"]),
        ("The tank has no dents, no rust, just a little fading on top.", ["fuel_tank"]),
        ("The seat isn't torn, and the backrest isn't either.", ["seat", "backrest"]),
        ("That's not rust on the pipe, that's dirt.", []),
        ("On the mirror the glass is fine, but the housing's cracked.", []),
        (
            "The tank on this side is clean, so's the footpeg, but the exhaust has a scuff.",
            ["fuel_tank", "footpeg"],
        ),
        ("The tank, it is a beautiful blue, but it has a dent.", []),
        ("The mirror on this side, not a chip, not a crack.", ["mirror"]),
        ("The display is clear, no water inside, no scratch.", ["display"]),
        ("Kickstarter, nothin' the matter with it.", ["kickstarter"]),
        ("The tank's been touched up, and it's good work.", []),
        ("The upper fairing's got chips, the lower fairing has none.", ["fairing"]),
        ("Center stand is rusty, but the kickstand isn't, so use that.", ["kickstand"]),
        ("The saddlebag has no scratches, but it does have one deep gouge.", ["saddlebag"]),
        ("It's not dripping, it's just weeping around the stator cover.", []),
        ("The tank is, okay, the tank is what everyone loves.", []),
        ("Fork on this one, clean.", ["fork"]),
        ("Both grips are worn, but nothing wrong with the handlebar.", ["handlebar"]),
        ("Headlight, no complaints; fender, stone chips.", ["headlight"]),
        ("Headlight, spotless, and in the fairing I count five chips.", ["headlight"]),
        ("The heat shield that sits on the exhaust is good.", ["heat_shield"]),
        ("The saddlebag's got a dent, otherwise nothing wrong with it.", ["saddlebag"]),
        ("The fender has a tiny scuff, otherwise it's clean.", ["fender"]),
        ("Look at the fork seals, both fork seals are dry, no leaks.", ["fork_seal"]),
        ("The saddlebag, never used, looks great.", ["saddlebag"]),
        ("The bar end's scratched, and the mirror's not, go figure.", ["mirror"]),
        ("The trunk is new, and he never carried anything.", []),
        ("The chain's got light surface rust, nothing a little oil won't see to.", []),
    ],
)
def test_clean(sentence: str, parts: list[str]) -> None:
    assert sorted(clean(sentence)) == sorted(parts)


@pytest.mark.parametrize(
    ("question", "answer", "stated", "parts"),
    [
        ("Any rust?", "A little on the axle nut.", ["axle rust"], []),
        ("Scratches?", "Sure, on the fender, on the tank.",
         ["fender scratch", "fuel_tank scratch"], []),
        ("Leaks?", "None on the engine.", [], ["engine"]),
        ("Is the seat ripped?", "Yes it is, at the back of it.", ["seat tear"], []),
        ("And the fork seals, are those weeping?", "Just the left one.", ["fork_seal seepage"], []),
        ("Is the front rim bent?", "No.", [], ["rim"]),
        ("Footpeg on this side, is it bent?", "Nope, that footpeg's fine.", [], ["footpeg"]),
        ("Any dents?", "The seat's torn.", ["seat tear"], []),
    ],
)  # fmt: skip
def test_questions_answered(
    question: str, answer: str, stated: list[str], parts: list[str]
) -> None:
    assert pairs(question, answer) == stated
    assert clean(question, answer) == parts


def test_a_part_called_clean_twice_in_a_row_is_told_once() -> None:
    assert clean("No leaks on the engine.", "It's clean.") == ["engine"]


@pytest.mark.parametrize(
    ("sentence", "count", "size_mm"),
    [
        ("The front rotor's missing two bolts.", 2, None),
        ("Front spokes, two are loose.", 2, None),
        ("The radiator's dented at two of the mounts.", 2, None),
        ("A dozen chips on the fender.", 12, None),
        ("Half a dozen chips on the fender.", 6, None),
        ("Three dings in the tank, ate a rock or two.", 3, None),
        ("The mirror is loose, folds in at sixty.", None, None),
        ("A crack in the tail light, ten mil or so.", None, 10.0),
        ("A dent in the tank the size of a ten pence piece.", None, 24.5),
        ("The tank is off-color, and at thirty feet, who cares.", None, None),
        ("A good foot-long scratch on the tank.", None, 304.8),
        ("A crack in the fairing, two inches, no, I tell a lie, more like three.", None, 76.2),
        ("A dent in the tank the size of a loonie.", None, 26.5),
        ("Two chips in the tank the size of a dime, no, three chips.", 3, 17.91),
        ("The exhaust is rusty, well, it's a thirteen.", None, None),
        ("The fender's cracked, unlike the other three.", None, None),
        ("About a foot ahead of that, there's a chip in the fender.", None, None),
        ("A scrape the length of a dollar bill on the exhaust.", None, 155.96),
        ("The tank has three, make that four, scratches.", 4, None),
    ],
)
def test_amounts(sentence: str, count: int | None, size_mm: float | None) -> None:
    (statement,) = read(sentence).statements
    assert (statement.count, statement.size_mm) == (count, size_mm)


def test_the_same_flaw_on_the_other_side_is_another() -> None:
    assert flaws("Left side.", "Saddlebag, scuffed.", "Right side, same walk.",
                 "Saddlebag, same again on this one, scuffed.") == [
        ("left", None, "saddlebag", "scuff"), ("right", None, "saddlebag", "scuff"),
    ]  # fmt: skip


def test_an_exception_opens_a_sentence_about_the_part_before() -> None:
    assert pairs("Now the tank.", "Spotless, bar a little ding.") == ["fuel_tank dent"]
    assert clean("Now the tank.", "Spotless, bar a little ding.") == ["fuel_tank"]


def test_a_question_at_the_end_of_what_is_told_asks_nothing() -> None:
    assert pairs("Now the tank.", "And it's loose, hear that?") == ["fuel_tank loose"]


@pytest.mark.parametrize(
    ("sentences", "size_mm"),
    [
        (("The silencer has a scuff along it.", "A good eight inches."), 203.2),
        (("There's one deep gouge in the tank.", "The length of a credit card."), 85.6),
        (("The muffler's dented.", "Let me see, 22 millimeters."), 22.0),
    ],
)
def test_a_size_cut_off_by_a_pause_is_the_flaws(sentences: tuple[str, ...], size_mm: float) -> None:
    assert [s.size_mm for s in read(*sentences).statements] == [size_mm]


@pytest.mark.parametrize(
    ("sentences", "stated"),
    [
        (("Here is the tank.", "Whose clear coat is peeling."), ["fuel_tank peeling"]),
        (("The skid plate is the star.", "Because it's gouged."), ["skid_plate gouge"]),
    ],
)
def test_a_clause_cut_off_by_a_pause_goes_on(sentences: tuple[str, ...], stated: list[str]) -> None:
    assert pairs(*sentences) == stated


def test_where_the_speaker_goes_next_places_nothing_told_before() -> None:
    talk = ("The paint on the tank is off color, come round back.", "The tail light is cracked.")
    assert flaws(*talk) == [
        (None, None, "fuel_tank", "color_mismatch"),
        (None, None, "tail_light", "crack"),
    ]


def test_a_big_one_is_the_flaw_just_told() -> None:
    talk = "The exhaust has a scuff, quite a big one, and there's rust on the brake pedal."
    assert pairs(talk) == ["exhaust scuff", "brake_pedal rust"]


def test_past_work_takes_no_grade_from_what_is_thought_of_it() -> None:
    talk = read("The shift lever's been welded.", "It's ugly as sin.")
    assert [s.severity for s in talk.statements] == [None]


@pytest.mark.parametrize(
    ("sentence", "stated"),
    [
        ("The seat might be torn, or it's just a crease.", ["seat tear"]),
        ("The left shock might be leaking, could just as easily be chain lube.", ["shock leak"]),
        (
            "The tank might have a crack, and it could be rusted inside.",
            ["fuel_tank crack", "fuel_tank rust"],
        ),
        (
            "The front fender's a different red, it came off another bike.",
            ["fender color_mismatch"],
        ),
        ("The seat's torn, I'll have it swapped before you come.", ["seat tear"]),
        (
            "Tail section's cracked, you could stitch it with zip ties.",
            ["tail_section crack"],
        ),
        (
            "Clutch cover might be sweating, or somebody's overdone the chain lube.",
            ["clutch_cover seepage"],
        ),
        (
            "There might be a weep at the clutch cover, or it's chain lube.",
            ["clutch_cover seepage"],
        ),
        ("That crack in the windshield, I got a new one in the shed.", ["windshield crack"]),
        (
            "Rust on the header, heat shield's missing, and the side panel's melted.",
            ["header_pipe rust", "heat_shield missing", "side_cover melted"],
        ),
        (
            "The tail light doesn't work, four dents in the fuel tank.",
            ["tail_light inoperative", "fuel_tank dent"],
        ),
        ("On the front wheel there's two loose spokes.", ["spokes loose"]),
        ("That incident gave us a scuff on the bar end.", ["bar_end scuff"]),
        ("The rack for the delivery box is rusty.", ["luggage_rack rust"]),
        ("The side cover has been repaired at the peg.", ["side_cover prior_repair"]),
        ("The front fender has dents, I mean, it's carried posts.", ["fender dent"]),
        ("The rear fender has rust from riding here on a trailer.", ["fender rust"]),
        ("The saddlebag has residue where they had a rally sticker.", ["saddlebag residue"]),
        ("The tank has scratches all over, that's his keys rubbing on it.", ["fuel_tank scratch"]),
        (
            "The saddlebag is scuffed, and its latch is loose.",
            ["saddlebag scuff", "saddlebag loose"],
        ),
        (
            "The fender's got chips, and its chrome trim is missing.",
            ["fender chip", "trim missing"],
        ),
        (
            "The decal on this side panel is peeling, and the panel itself is cracked.",
            ["decal peeling", "side_cover crack"],
        ),
        ("The seat cover is torn, I will give one new cover with it.", ["seat tear"]),
        ("That upper fairing is cracked, it's getting replaced.", ["fairing crack"]),
        ("The grip's sticky, it's melted in the sun.", ["grip melted"]),
        (
            "The tank has a dent that you really have to look for, and a few scratches.",
            ["fuel_tank dent", "fuel_tank scratch"],
        ),
        ("On the front wheel there's a loose spoke, sorry, two loose spokes.", ["spokes loose"]),
    ],
)
def test_what_else_it_may_be_or_come_from_is_no_flaw(sentence: str, stated: list[str]) -> None:
    assert pairs(sentence) == stated


@pytest.mark.parametrize(
    ("sentences", "places"),
    [
        (
            ("The left mirror is bent, and the right one might be too.",),
            [("left", None, "mirror", "bent"), ("right", None, "mirror", "bent")],
        ),
        (
            ("The front tire is worn, and the rubber's cracked.",),
            [(None, "front", "tire", "wear"), (None, "front", "tire", "crack")],
        ),
        (
            ("The left fork boot is torn, and its counterpart on the right is missing.",),
            [("left", None, "fork_boot", "tear"), ("right", None, "fork_boot", "missing")],
        ),
        (
            ("The muffler on the right side has scuffs.", "The other one does too, on the left."),
            [("right", None, "exhaust", "scuff"), ("left", None, "exhaust", "scuff")],
        ),
        (
            ("If you'll follow me to the right-hand side.", "The muffler is dented."),
            [("right", None, "exhaust", "dent")],
        ),
        (
            ("Front fender's cracked where the plate bolts on, two-inch crack.",),
            [(None, "front", "fender", "crack")],
        ),
        (
            ("The seat has faded.", "There's mildew in the folds of it too."),
            [(None, None, "seat", "fading"), (None, None, "seat", "mildew")],
        ),
        (
            ("The windshield is aftermarket, and it has two, no, three little scratches.",),
            [(None, None, "windshield", "replaced_part"), (None, None, "windshield", "scratch")],
        ),
        (("Scratches on both mirrors, dings on neither.",), [("both", None, "mirror", "scratch")]),
        (
            ("The left headlight is broken, same post, but the right headlight's fine.",),
            [("left", None, "headlight", "broken")],
        ),
        (
            ("The left headlight is cracked, no, sorry, that's the right one.",),
            [("right", None, "headlight", "crack")],
        ),
        (
            ("Round to the right side.", "Inside the cab.", "The power outlet is corroded."),
            [(None, None, "charger_port", "corrosion")],
        ),
        (
            (
                "Round to the right side.",
                "It went over on this side, the mirror is bent, and the indicator, the front one.",
                "The muffler is scuffed.",
            ),
            [("right", None, "mirror", "bent"), ("right", None, "exhaust", "scuff")],
        ),
    ],
)
def test_where_flaws_are(sentences: tuple[str, ...], places: list[tuple[str | None, ...]]) -> None:
    assert flaws(*sentences) == places


@pytest.mark.parametrize(
    "sentence",
    [
        "Tail light works, but the lens is cracked.",
        "The headlight's fine, sorry, no, it's got some hazing.",
    ],
)
def test_praise_that_a_flaw_undoes_calls_nothing_clean(sentence: str) -> None:
    assert clean(sentence) == []
