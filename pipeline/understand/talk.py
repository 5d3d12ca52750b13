"""Ordinary English that steers how trade talk is read: the little words, as sets.

The trade's own words are in the lexicon; these are the language's, so no shop needs to change them.
"""

from pipeline.understand.plain import ASPECTS, NOT_A_PART, SURROUNDINGS, phrases, words

DETERMINERS = words(
    "a an the this that these those its it's his her their some any another each every one my your "
    "our both all"
)
ARTICLES = words("a an some another one")
LIST_LINKS = words("and or plus & , also then nor")
FILLERS = words(
    "oh ooh ha hmm huh hm welp yup nope wow boop whoa alas uh um er ah eh you know like well so "
    "okay ok yeah yep alright basically actually literally honestly just kind sort of really "
    "pretty quite fairly very super too as only still even maybe probably perhaps right here there "
    "now again obviously i guess mean guys folks certainly definitely clearly overall especially"
)
ADVERBS = words(
    "pretty really quite fairly very super rather somewhat slightly a bit little real awfully "
    "extremely so too kind of sort just surface paint rock road stone normal usual typical old new "
    "fresh visible few several various scattered multiple many more lot lots bunch couple pair "
    "spots spot patches patch areas area places bits signs sign touch amount hint line lines and "
    "or , tiny clear coat top long short thin wide round noticeable nasty ugly nice decent good "
    "fair single whole number series set cluster handful sun water light dark white brown red "
    "orange black green odd obvious general"
)

PREPOSITIONS = words(
    "on in at along across over around to of from through between throughout onto into up down "
    "inside underneath under within off against toward towards for"
)
LANDMARKS = words(
    "round by near beside next above below behind under underneath around where toward towards "
    "against opposite"
)
HAVING = words(
    "'s has have had having got gets get getting is are was were be been being isn't aren't wasn't "
    "hasn't haven't with shows show showing showed shown looks look looked suffers suffering "
    "suffered carries carrying wears took takes taken taking picked seen sees left put puts "
    "knocked rubbed wore caught collected developed started starting starts beginning begins begun "
    "going they've it's they're there's that's he's she's i've we've you've here's needs feels "
    "sports bears exhibits seems appears does do did runs came comes feature features"
)
PRONOUNS = words(
    "it it's its this that that's these those they they're they've them he she one ones both here "
    "here's there there's there're where"
)
PLURAL_PRONOUNS = words("both they they're they've them these those each")
EXISTENTIALS = words(
    "there there's there're here here's see notice find got get has have seeing shows show it's "
    "that's this is are was found noticed spot saw look looks looking we've you've i've with "
    "mention point disclose call"
)

NEGATIONS = words(
    "no not never without none nothing neither nor zero don't doesn't didn't isn't aren't wasn't "
    "weren't haven't hasn't hadn't can't couldn't won't cannot ain't wouldn't hardly"
)
NEGATION_PHRASES = phrases(
    "yet to, far from, rather than, not so much a, free of, free from, clear of, devoid of,"
    "absence of, lack of"
)
# Words with "no" or "not" that deny nothing.
NO_DENIAL = phrases("""
    wouldn't worry about, don't worry about, not worried about, wouldn't sweat, doesn't bother
    no exception, no exceptions, no bigger than, no larger than, no more than, no longer than
    no worse than, no wider than, not much more than, no deeper than, no two ways, not to mention
    no thanks, not only, not just, not bad, not too bad, not terrible, not horrible, not awful
    no doubt, no question, no wonder, not sure, not certain, not gonna lie, not going to lie
    don't know how, don't really know, isn't going anywhere, nothing a shot, nothing a little
    nothing a bit, nothing some, not meant to, not supposed to, won't lie, can't miss, not perfect
    no big deal, not going to hide, won't hide, don't mind
    no surprise, not the worst, not a huge deal, not a big deal, not great
    not the end of the world, not new, nothing major, nothing serious, nothing crazy
    nothing terrible, nothing huge, nothing wild, nothing too bad, nothing too crazy
    not gonna hide, can't hide, no secret, no hiding, no longer, not original, don't worry
    not as bad, not that bad, not so bad, not much of, not hiding, not pretty, no joke, no kidding
    don't mix, don't confuse, don't forget, can't forget, don't overlook, not anymore
    not for nothing, couldn't tell you, not shiny, not super, not too deep, not deep
    not huge, not big, not too big, not the prettiest, not the best, don't love, not happy
    can't say, why not, may or may not, might or might not, cannot determine, can't determine
    can't tell, cannot tell, don't know, not gonna, not going to, not quite, no no, not entirely
    not fully, not all, not every, nothing structural, not saying, not coming off
    doesn't hurt anything, don't hurt anything, nothing a little, nothing a bit, nothing a good
    nothing that won't
    can't find nothing, can't see nothing, don't see nothing, don't have nothing
    can't make up my, couldn't make up my, can't decide, couldn't decide
""")
NEGATION_ENDS = words("because 'cause but just except though although however only ; . : yet still")
SUBJECT_STARTS = words(
    "maybe perhaps possibly is are there's there it's it that's that this these those they i we "
    "you he she there're here here's they're we've i've a an some one another the got has have "
    "your my his"
)
EXCEPTIONS = phrases("""
    other than, except, except for, besides, apart from, aside from, but for, outside of, save for
    with the exception of, excepting, short of, beyond, bar a, bar the, bar one, bar some
    bar that, bar two
""")
HEDGES = phrases("""
    could've been, might've been, may've been, could've, might've, would've been, could have been
    might have been, might be, maybe, may be, possibly, could be, not sure, can't tell
    hard to tell, perhaps, i think, not certain, might have, could have, may have, hard to say
    suspect, potentially, looks like it might, if i'm honest it could, what might, what could
    what may, looks like maybe, may or may not, might or might not, whether, cannot tell
    cannot determine, can't determine, don't know if, i can't quite tell, not positive, might
    i believe
""")
# What you do to see a flaw that is there: "if you look close there's a scratch".
REAL_CONDITIONS = phrases("""
    if you look, if you get, if you catch, if you run, if you come, if you zoom, if you feel
    if the light, if the sun, if i'm picky, if i'm being, if you're picky
    if i'm honest, if you're looking, if you're standing, if you're up, if you see
    if you pull, if you open, if you lift, if you tilt, if you move, if you wiggle
    if you squeeze, if you push, if you turn, if you can, if you check, if you notice, if you go
    if you stand, if you step, if you follow, if you'll follow, if you'll come, if you'll walk
    if you walk, if you would, if i turn, if i get, if i zoom, if i move, if i pull
    if i tilt, if i wiggle, if i lift, if i open, if you squint, if you stick, if you flip
    worry about the, worry about that, if i was, if i were, if i had, if you really, if anything
    would be the, would be a, would be some, would be this, i thought maybe, i thought there
""")
UNREAL = phrases("""
    the old one, the old ones, the last one, the original one,
    than, was afraid, i figured, i assumed, i expected, easy to think, mistake it for
    mistake that for, could pass for, passes for, resembles, what looks like, might look like
    may look like, looked like a, you might think, ignore, disregard, pay no attention to
    forget about, nothing more than, i thought, thought it was, thought that was, you'd swear, if
    check for, checked for, checking for, look for, looked for, looking for, watch for
    watch out for, inspect for, inspected for, inspecting for, prone to, known for, worry about
    worried about, worrying about, not saying, tell you that's, tell you it's, used to have
    used to be, instead of, prevent, prevents
    protects, protect, protection from, protected from, keep it from, keeps it from, tend to
    tends to, notorious for, famous for, would be, would have, would get, wouldn't be, could get
    complain about, avoid, most of them, most of these, a lot of these, lots of these
    these always, these usually, they always, they usually, usually, ask about, asked about
    asking about, people ask, asked me, asks me, asked was, ask me, hear about, cure for
    resistant, will be, will get, will have
    won't be, won't have, unless, never had, don't want, don't need, afraid of, like a, like an
    in case of, went over it for, went through it for, hunt for, hunted for, hunting for
    searching for, searched for, supposed to, designed to, can get you, i can get, we can get
    so you don't, so it doesn't get, so it doesn't rattle, so it doesn't come, so it doesn't fall
    so it doesn't move, without getting, you'd think, you would think, next to no
    the way a, the way an old, some of these have, some of them have, some of these get
    some of these come, from when
    these get, these all get, watch you don't, careful you don't, make sure you don't
    make sure it doesn't, we'll throw in
    throw in a, we'll put, i'll put, we'll get, we can put, could put, we could get
    before it, before one, last one, the one before, other bike, my own, my old, his old, her old
    you'd expect, you would expect, most of those, most bikes, most sleds, most machines, most skis
    most cruisers, every third one, every other one, half of these, everybody says, everyone says
    everybody warns, people say, rumor was, rumor had it, ready for, braced for, always get
    always have, forever, gonna get, going to get, from getting, i'd rather, i'd have been
    i'd have found, could've sworn, could have sworn, i'd have sworn, people call it, in case you
    in case it, in case they, by the time, so much for, on these you, since they get
    because they get
""")
# What somebody said, feared or took for a flaw; it may be so all the same.
SEEMING = phrases("""
    told me, told us, tells me, swore, swears, says, said, wrote down, written down, was told
    were told, warned me, warned us, reckoned, reckons, claimed, claims, complained, asked me
    asked us, asked if, asks if, asking if, asking about, asked about, expected, expecting
    i'd expect, feared, was worried, i took, took this for, took that for, took it for, mistook
    i was certain, was certain, i believed, i'd have bet, would have bet, had it in my head
    i thought, we thought, he thought, she thought, figured, looked like, looks like, look like
    looked dreadful, looked awful, looked bad, looked terrible, looked rough, got excited
    got all excited, fixing to, about to tell, about to say, about to call, about to write
    gonna tell, gonna say, going to tell, going to say, was ready to
    heard, i'd heard, supposed to, sheet says, list says, seemed, seems, swear, sworn, whether
    meant to be, ad said, ad says, listed it, had it down, scared me, had me worried, always
    mistake this for, mistake that for
""")
# A sentence that told of a seeming flaw tells with one of these that there is none.
DISPELLING = phrases("""
    turned out to be, turns out to be, turned out it was, false alarm, forget that, forget it
    it's gone, they're gone, that's gone, it was gone, never mind, nothing to it, nothing there
    not true, no such thing, not ours, not so
    not the bike, not this one, not this bike, not this machine, not this sled, not this boat
    not from this one, not from this bike, not from this machine, i was wrong, he was wrong
    she was wrong, they were wrong, it was wrong, but no, and no
""")
# Said anywhere in a sentence, these tell of another machine or another time.
ELSEWHERE = phrases("""
    not the bike, not this bike, not this machine, not from this one, not from this bike
    not off this one, next door, part of the deal, belongs to the
    the recall, a recall, on a different one, used to race, used to own, used to ride
    used to have one, have one that, one of these once, another bike, other bike, my last
    my old rig, my old bike, my old sled, my old boat, my old machine, my old quad, my old truck
    my old one
    my first one, back in the day, different sled, i knew a, in him, in me
    two ribs, his wallet, your wallet, my wallet
""")
# A clause with one of these tells of somebody or something else: "my uncle's had a dent".
ASIDES = phrases("""
    my brother, my brother's, my cousin, my cousin's, my uncle, my uncle's, my buddy, my buddy's
    my dad, my dad's, a friend of mine, my neighbor, my neighbor's, my nephew, my nephew's
    had one, i've seen, seen one, seen them, i hit, on my sleeve, on my hand, on my hands
    on my shirt, on my jeans, on my fingers, buddy of mine, my roommate, my roommate's, my sister
    my son, my son's, my daughter's, my boss's, my wife's, my truck, my car
    my minivan, the minivan, my mower, lawn mower's, my bicycle, on the forum, on the forums
    down the road, up the road, across the road, across the street, down the street, has one cheaper
    came in yesterday, came in last week, uncle, aunt, the last buyer, the guy before us
    a guy i know, i've known, told me his, he's got one, they've got one, had one with
    i once saw, once i saw, had me an old, imagine a
""")
CORRECTIONS = phrases("""
    sorry, no wait, wait, i mean, excuse me, correction, make that, rather, actually, my mistake
    strike that, scratch that, no, pardon, pardon me, let me correct that, correct that, or rather
    no sorry, wait no, my bad, let me rephrase, i meant, oops, whoops, hang on, hold on
    i should say, should say, i'm sorry, no make that, no i mean, wait sorry, wait a minute
    i take it back, i take that back, let me back up, i tell a lie, tell a lie
""")
AGAIN = phrases("""
    i said, i mentioned, mentioned, as mentioned, i talked about, talked about, i told you about
    told you about, i showed you, showed you, already showed, i pointed out, pointed out, we saw
    you saw, earlier, from before, as i said, like i said, again, i was talking about, i spoke of
    i described, already mentioned, already talked, already covered, said before, i noted
    refer back, remind, remember the, remember that, don't forget, we noted, we talked about
    warned you, brought up, you've seen, you've already seen, already seen, i've shown, i've showed
    a minute ago, a second ago, a moment ago, a while ago, recall the, recall that, aforementioned
    previously mentioned, at the start, at the beginning, i opened with, i started with
    you remember, we talked, we covered, i covered, told you
    i called out, called out, we looked at, i flagged, same one, back to that
""")
SAME = phrases("""
    a smaller one, a bigger one, a similar one, a small one, a big one, a matching one
    another one, one more, more of the same, more of that, a second one, same, likewise, ditto
    does too, do too, has too, have too, has it too, have it too, got it too, has them too
    have them too, might be too, may be too, could be too, might be as well, may be as well
    could be as well
    so did, so does, so do, so is, so 's, so's, so are, so has, so have, as does, as do, as is
    identical
    neither does, neither do, neither is, neither has, nor does, nor is
    similar, same story, same thing, same deal, same on, matches, matching, mirrors that
    same goes for, goes for the, goes for both, goes for its, goes for that, goes for this
    just like, the same
""")
# The other one of a pair.
OTHER_OF_A_PAIR = phrases("""
    other side, opposite side, far side, other one, its twin, the twin, its mate, opposite one
    its partner, its buddy, its neighbor, other hand side, its brother, its sister, its match
    its counterpart, the counterpart, its fellow, its opposite, its companion, its opposite number
""")
ANOTHER = words("another second other more different new separate additional")
MOVES = phrases("""
    come down, coming down, going down, coming around, coming round, come around, come round
    moving around, moving round, moving to
    moving on, moving over, move to, move on, move over, move around, moving along, moving up
    moving down, moving back, walking around, walking round, walk around, walk round, going around
    going round, go around, go round, going to, over to, over on, on to, onto, now on
    switching to, switch to, swinging around, swing around, swinging round, swing round
    swing over, swinging over, heading to, head to, heading over, heading around, heading round
    head over, starting on, starting with, starting at, start on, start at, start with
    let's start, let's go, we'll start, i'll start, jumping to, jump to, stepping around
    step around, stepping over, step over, crossing over, crossing to, cross over, circling
    circle around, back to, back around, making our way, make our way, working our way
    work our way, hop over, hopping over, over here, now the, next up, turning to, turn to
    spinning around, spin around, around to, round to, flip around, flipping around, come over
    coming over, coming to, come to, coming up, up front, out front, standing on, standing at
    we're on, i'm on, here on, look at the, looking at the, come on around, come on over
    follow me, other side now, this side, crossing, scooting, walking to, walking over, walk to
    walk over, slide over, sliding over, here's the, this is the, we are on, i am on, start from
    starting from, keep moving, keep going, doing the, beginning with, beginning on, begin on
    begin at, begin with
    beginning at, finishing, finish on, finish up, down the
""")
IDIOMS = phrases("""
    same bike, same sled, same machine, about fell off, nearly fell off, wants grease, needs grease
    wants greasing, needs greasing, comes off white, that's glue
    glasses are all fogged up, glasses are fogged up, glasses fogged up, wall of the trailer
    floor of the trailer, just folded in
    front to back, back to front, top to bottom, side to side, end to end, from front to back
    rust never sleeps, small wonder, half the sale, half the price, half the fun, half the story
    patch kit, repair kit, clear across, 's clear across, is clear across
    from scratch, rust belt, rust bucket, rust proofing, rust proofed, wear a helmet
    crack of dawn, tear it up, tear up, cut you a deal, cut a deal, cut to the chase, wear your
    wear gloves, wear it, hole in one, in a dent, cut the price, cut the engine, cut out
    play around, broken in, break in, leak down test, leak proof, crack open, crack it open
    touch base, light up, lights up, light switch, all right, right now, right away, right off
    cracking deal, loose change, loose ends, no worries, nicely worn in, cut corners, hit the road
    tear down the road, tearing around, tearing it up, scratch the surface, coffee break
    lunch break, gone over, gone through, gone around, gone by, rust inhibitor, dent in the price
    dent in your wallet, wear out your welcome, holes in your wallet, well worn in, burn a hole
    hole in your pocket, hole in your wallet, wear sunscreen, worn off on, chip on my shoulder
    crack a smile, crack up, cracks me up, cracked up, tear jerker, cut short, cutting edge
    in the mold, from the mold, out of the mold, of the mold, paint broke, paint broken
    broken paint, broke the paint, break the paint, breaking the paint, paint break, paint breaks
    i'm torn, i'm beat, straight up, sticks out, stick out
    rub on anything, rub anything, rub on nothing, rubs on nothing
    the same day, same day, half the time, half the county, half the desert
    mould line, mold line, moulding line
    the same machine, same machine, elbow grease, it on the stand, the same age, same age,
    same year, same vintage, actual spider web, real spider web
    slack within, milk jug, bottom of the bay, bottom of the lake, bottom of the river
    bottom of the pond, bottom of the sea
    play within
    wear within, peeling out, peel out, missing out on, miss out, missing a beat, missing link
    broken record, barbed wire, chicken wire, baling wire
    smashed it, nailed it, snow melting, ice melting, melting snow, chain saw, chainsaw
    wear boots, wear a jacket, can be, don't fault it, tire machine, tyre machine
    trailer gate, trailer bunk, burned up, burnt up, fogging oil, my bad, what they wear
    what you wear, nice and quiet, scratch what, hole in the market, fair play, sticking up
    shake my hand, shake your hand, shake his hand, shake on it, hand painted, hand-painted
    wiggle it, wiggle them, gauges at, gauge at, same walk, same drill, same routine, same order
    broke my heart, broke his heart, broke her heart, either side of
    on top of that, on top of it all
    crack me up, crack us up, not coming off, won't come off
    doesn't come off, somebody's backside, your backside, my backside
    worn out from, wore out from, bag of chips, bags of chips, bent over backwards
    bend over backwards, scratch my head, scratched my head, scratch your head, scratching my head
    cracked open a, cracked open an, cracking up, crack jokes, cracks jokes, windows cracked
    window cracked, i'll chip in, chipped in for, chip in for, split the difference
    splitting hairs, split hairs, dead straight, dead honest, dead simple, dead level, dead even
    dead center, tore through, peeled out, hole in my hat, short circuit, torn between
    torn up about, worn out his welcome, worn out their welcome, cut to size
    cut from the same, a clean break, lucky break, a break on, big break
    hind leg, rattle can, peeled egg, by the wire, by a wire, by its wire, by the wires, by a thread
    see the bars, see the wear bars, ten and two, worn in nicely, worn in just right, just worn in
    a lot of these, a lot of them, lots of these, nothing a drop of oil, so a drop of oil
    burn bright, burns bright, dry as a chip, a cut and polish, cut and polish, cut and buff
    stuck down, pulled trees, pulled stumps, pulled trucks
    good shake, new jersey, new york, new mexico, new hampshire, new england, new orleans
    still glued, still wet, getting wet, get wet, gets wet, got wet, tear gas, wet season
    still burns, stain on my, dry as toast, chewing gum
    she'll be right, get the light right, gone and, sticks to everything, stick to everything
    sticks to everyone, a shake in his, a shake in her, a shake in my, looked everywhere
    look everywhere, looking everywhere, wet gear, wet boots, wet grass, wet dog, wet towel
    wet hands, glued down, i won't start, let's crack on, we'll crack on, i'll crack on
    crack on then, mind the puddle, mind that puddle, watch the puddle, watch that puddle
    one more time, get stuck on, gets stuck on
    where it's welded, where they're welded, drip hanging, drop hanging, a new one's
    paint's not broken, paint isn't broken, paint is not broken, never let go, lives outside
    lived outside, stored outside, kept outside, sat outside, sits outside, slept outside
    hard to see in this, scraped the mud, scraped the dirt, scraped the ice, scraped the snow
""")

COMMON_WORDS = (
    DETERMINERS | LIST_LINKS | FILLERS | ADVERBS | PREPOSITIONS | LANDMARKS | HAVING | PRONOUNS
    | EXISTENTIALS | NEGATIONS | SUBJECT_STARTS | NOT_A_PART | ASPECTS
    | SURROUNDINGS
    | words("date dated code codes ditto fellow which who whom whose however though although "
            "anyway besides scooch scooching scootching "
            "stretched pealing bending friend friends tender render sender gender father mother "
            "lender spender mender scarred batter better better matter butter staring starting "
            "clack clacks clacking clacked "
            "creaked cranked crashed crossed stained strained stitched switched scratchy stated")
)  # fmt: skip
