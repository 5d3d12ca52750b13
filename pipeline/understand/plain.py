"""Plain nouns and verbs that name no part of a machine, so that unknown things stand out."""


def words(text: str) -> frozenset[str]:
    """A set of the blank-separated words of a text."""
    return frozenset(text.split())


def phrases(text: str) -> frozenset[str]:
    """A set of the phrases of a text, one a line or separated by commas."""
    return frozenset(p.strip() for line in text.splitlines() for p in line.split(",") if p.strip())


# Words that stand where a part would but name the whole machine or no thing at all.
NOT_A_PART = words(
    "worst biggest longest deepest smallest "
    "bike machine unit motorcycle thing things side sides end bottom top back front way part parts "
    "whole area spot spots place places it them this that here there one ones right left middle "
    "couple bit lot road car truck sled ski boat quad rig vehicle camera video light sun day shop "
    "floor trade price deal guy owner fella gentleman lady person customer buyer miles mile year "
    "years time times number hours hour inch inches surface surfaces paint chrome metal plastic "
    "plastics finish everything something anything nothing edge edges corner corners inside "
    "outside underside face line lines age use weather winter summer storage rain washing color "
    "colour shade tune size degree extent cause reason rest close close-up picture pictures photo "
    "photos screen far near other same ground stuff what look looks feel condition shape stock "
    "pair set first last next previous left-hand right-hand kind sort story case fact point "
    "bodywork body hardware bolts bolt rubber leather vinyl garage trailer fall drop tip-over "
    "accident wreck life world start beginning note moment tape record walk walkaround finger "
    "fingers fingernail nail eye eyes distance feet foot service might may could can would should "
    "will must does doing twin partner buddy mate like it'll somebody nobody everybody someone "
    "everyone anybody whoever whatever me him us tell say says said think thought know saw season "
    "seasons test ride dealer department guys people most"
)

# What a thing is made of or covered with, and what shapes it has: never a thing of its own.
ASPECTS = words(
    "lacquer enamel coating coat clearcoat primer undercoat undercoating powdercoat anodizing "
    "plating veneer carbon fiber fibre fiberglass fibreglass gelcoat canvas cloth suede hide mesh "
    "change changes "
    "weave alloy aluminum aluminium steel iron casting brass copper glass tint film sheen gloss "
    "shine luster texture grain pattern logo lettering script crease ridge curve contour arch "
    "radius hump peak valley groove seam seams weld welds joint joints lip shoulder crown cheek "
    "flank belly nose beak tail neck throat heel toe knee elbow mouth base root tip tips leading "
    "trailing edge perimeter border outline surround middle center centre half halves third "
    "quarter quadrant portion segment stretch strip band panel section region zone patch stripe "
    "screw screws rivet rivets stud studs nut nuts washer washers clip clips grommet grommets "
    "spring springs pin pins tab tabs tang dowel fastener fasteners thread threads hole holes "
    "opening slot cutout gap recess cavity pocket underbelly backside frontside topside innards "
    "guts workings mechanism unit assembly piece pieces bit bits chunk chunks sliver layer layers "
    "skin shell body core rest remainder whole entirety lot bunch majority silver gold paintwork "
    "colour color white black red blue green yellow orange purple grey gray"
)
# People, times, places and notions that a walkaround speaks of.
SURROUNDINGS = words(
    "wife husband kid kids son daughter boy boys girl girls man men woman women neighbor neighbour "
    "boss crew tech techs mechanic painter detailer inspector salesman seller dealer previous "
    "former original first second owners folks everybody dog cat rat mice mouse squirrel deer bug "
    "bugs bird birds spider morning afternoon evening night today tomorrow yesterday week weeks "
    "weekend month months spring fall autumn minute minutes seconds moment while hour past future "
    "present barn shed garage driveway yard street highway freeway trail trails road roads lake "
    "river dock ramp beach sand dirt mud dust snow ice water rain salt sun sunlight shade light "
    "lighting wind cold heat weather air ground grass gravel rock rocks stone stones tree trees "
    "brush branch branches fence wall curb kerb rack stand hoist truck van house home office town "
    "city country world way ways idea ideas deal deals damage issue issues problem problems "
    "trouble news trick plan point points question questions answer answers reason reasons truth "
    "fact facts matter honesty opinion guess doubt chance odds luck mistake habit story stories "
    "history title paperwork report insurance warranty estimate estimates book books manual ad ads "
    "listing price money dollar dollars bill receipt value market sale sales purchase offer "
    "inspection service maintenance work job jobs repair fix detail details cleaning wash wax "
    "polish buff buffing scrubbing cleaner towel rag cloth sponge soap hose camera lens angle shot "
    "shots view views mic microphone battery phone screen video clip focus zoom flash reflection "
    "reflections glare shadow shadows line lines mark marks spot spots dot dots drop drops puddle "
    "smudge fingerprint fingerprints handprint print prints bubble bubbles speck specks dab smear "
    "streak streaks ring rings trace sign signs hint evidence amount number count total couple few "
    "dozen half percent size length width depth height weight distance inch foot feet mile miles "
    "speed gear gears start stop noise noises sound sounds smell vibration ride riding rider "
    "riders passenger passengers driver drivers trip trips tour rally race racing tip-over crash "
    "accident wreck incident impact hit bump slide tumble use usage age mileage time times life "
    "wear tear condition shape look looks appearance style type sort kind model make brand version "
    "year years vintage generation series edition trim option options feature features factory "
    "stock aftermarket oem fault faults flaw flaws defect defects blemish blemishes imperfection "
    "imperfections thing things something anything nothing everything hell heck darn gosh god "
    "goodness lord dude bro honey sweetheart sir ma'am friend friends fella fellas lad mate chap "
    "sorry please thanks thank welcome hello hey hi bye wow ouch oops yikes itself themselves "
    "himself herself yourself myself ourselves does doesn't did didn't do don't got gets went goes "
    "came comes took takes made makes put puts let lets kept keeps told tells asked asks gave "
    "gives found finds felt feels seemed seems checked checks looked wanted wants needed needs "
    "used uses tried tries started stopped finished ended began happened happens stayed stays sat "
    "sits stood stands ran runs rode rides drove drives hits caught catches fell falls dropped "
    "tipped tips leaned leans bumped bumps rubbed rubs wiped wipes washed polished buffed waxed "
    "cleaned fixed replaced swapped painted sprayed rolled pulled pushed opened closed"
)
