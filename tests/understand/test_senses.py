"""Words that could name a flaw, in sentences that tell none of this machine."""

import pytest

from tests.understand.talks import pairs


@pytest.mark.parametrize(
    "sentence",
    [
        "There's a chip guard on the front fender.",
        "Put a little rust inhibitor on the center stand every fall.",
        "The dent guy took one look at this tank and went home bored.",
        "We keep a bag of chips in the saddlebag.",
        "I come from the rust belt and you don't see frames like this.",
        "These fairings crack if you look at them wrong.",
        "Everybody says the mirrors rattle, and they scratch in the wash.",
        "Nobody's ever worn a hole in that seat.",
        "Nobody drilled a hole in the trunk.",
        "A cracked fairing will cost you six hundred.",
        "I'm worn out from the drive, let me get to the grips.",
        "I never touched the kickstand but it about broke my ankle.",
        "My roommate's bike has a crack in the windshield.",
        "He's got one with a torn seat across the road.",
        "I'd rather have a scuffed saddlebag and a good engine.",
        "So much for an oil leak on the engine.",
        "The tear everybody gets in this seat just isn't there.",
        "The tank could have been dented by that post, and it wasn't.",
        "Rust in the tank?",
        "Let me get down to the exhaust, my knees are shot.",
        "Judging by the dirt that's stuck to the shock, it sat a while.",
        "I gave the license plate bracket a good shake.",
        "It's from New Jersey, and the exhaust is stock.",
        "You'd expect a crack around the bolts on a tail section this age.",
        "Everybody looks at the tank first and nobody is bending down.",
        "I rubbed a spot of the fender with compound and it shines up.",
        "Wet sand the tank and you're done.",
        "The left side cover, this one you must glue.",
        "The handlebar is straight, I'm standing crooked.",
        "The engine doesn't go past sixty.",
        "Tail light, I had it plugged in this morning and it works.",
        "The headlight's like looking through a milk jug.",
        "I fell off this exact model four times, mind the seat.",
        "The pannier first, because it's sticking into my ribs.",
        "That fork boot I'd see to before the wet.",
        "The neighbour has the same machine, and I'm not afraid of the engine.",
        "The fender might come up with some elbow grease.",
        "I gave the winch, I gave it a rattle.",
        "There's loose gravel on the seat.",
        "They all seep, these engines.",
        "Back to the upper fairing, glue it or order one, your call.",
        "The fender, a replacement's a hundred and eighty bucks.",
        "So figure a new one on that rear tire.",
    ],
)
def test_no_flaw_of_this_machine(sentence: str) -> None:
    assert pairs(sentence) == []


@pytest.mark.parametrize(
    ("sentence", "told"),
    [
        ("There's a stone chip in the windshield.", ["windshield chip"]),
        ("The fender has wear, as you'd expect, and a dent.", ["fender wear", "fender dent"]),
        ("There's a scratch that you have to look for on the tank.", ["fuel_tank scratch"]),
        ("The fork seals leak.", ["fork_seal leak"]),
        ("The windshield's gone a little cloudy.", ["windshield hazing"]),
        ("My boss said start with the tank, it's got a dent.", ["fuel_tank dent"]),
        ("The badge has gone missing from the tank.", ["badge missing"]),
        ("The screen's hazy, mind the tyre.", ["windshield hazing"]),
        ("Somebody cut the seat with a knife.", ["seat cut"]),
        ("The tail light is out.", ["tail_light inoperative"]),
        ("The fender's not cracked, scratched though.", ["fender scratch"]),
        ("The tank has a dent from my son's handlebar.", ["fuel_tank dent"]),
        ("The seat has a cut across the back.", ["seat cut"]),
        ("The horn doesn't go.", ["horn inoperative"]),
        (
            "The tank's been repaired, so it doesn't match.",
            ["fuel_tank prior_repair", "fuel_tank color_mismatch"],
        ),
        ("The tank was resprayed after a scratch.", ["fuel_tank repaint"]),
        ("The radiator, the bolt's missing out of it.", ["radiator missing"]),
        (
            "It's on the stand, and not fast, because there's scuffing on the fairing.",
            ["fairing scuff"],
        ),
        (
            "There's a scratch on the gauge, and the ignition sticks.",
            ["instrument scratch", "ignition stuck"],
        ),
        ("Tail lights out, I tried it twice.", ["tail_light inoperative"]),
        (
            "The rear fender, that's where he scratched it loading it on the rack.",
            ["fender scratch"],
        ),
        ("The side cover was repaired with glue.", ["side_cover prior_repair"]),
        ("There's a badge missing on the tank.", ["badge missing"]),
        (
            "On the seat you'll see some mildew, and in the tank a dent.",
            ["seat mildew", "fuel_tank dent"],
        ),
        (
            "The mirror is scratched, and also the brake lever, from the same fall.",
            ["mirror scratch", "brake_lever scratch"],
        ),
        ("The mirror's snapped off and hanging by a wire.", ["mirror broken"]),
        ("The ignition's stuck half the time.", ["ignition stuck"]),
        ("Mind the wet spot on the fork seal.", ["fork_seal seepage"]),
        ("The horn don't work neither.", ["horn inoperative"]),
        ("I feel like the fork seal might be leaking.", ["fork_seal leak"]),
        ("On the tank you have the residue of a sticker.", ["fuel_tank residue"]),
        (
            "The backrest has a tear in its pad, and the seat has faded.",
            ["backrest tear", "seat fading"],
        ),
        ("The frame has rust, there where your boot rubs.", ["frame rust"]),
        (
            "The grips are wore, and where I chipped the mud off the frame it's rusted.",
            ["grip wear", "frame rust"],
        ),
    ],
)
def test_like_words_that_do_tell_one(sentence: str, told: list[str]) -> None:
    assert pairs(sentence) == told
