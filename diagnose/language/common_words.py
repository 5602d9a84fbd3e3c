"""Common English words, which the spelling correction must not turn into words of the trade."""

from __future__ import annotations


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


COMMON = _words("""
    printer toner laptop intranet canteen payroll
    able above accept access account across action active actual added advice advise after again against agree
    ahead alone along already answer anybody anyone anything apart apply area areas around arrive asked asking
    aware basic began begin behind below beside best better between beyond black blame bland block blue board bold
    book born bought bound boxes brand bring broad brown build built bunch bushes called calls cabin camel care
    careful carry case cases caught cause caused causes center central centre chain chair chance change charge
    chart cheap check checks chief child choice choose claim class clean cleared clerk click climb clock clone
    close cloud coast colleague common company complete concern confirm connect consider contact content contract
    copper corner count counter country couple course cover create cross crowd curl current customer daily dance
    daughter dealt delay deliver demand dense depth design detail different direct distance doing door double doubt
    draft drama dream dress drink drive early earth easily easy effect eight either electric else email engineer
    enough ensure enter entire equal escape event events every everyone exact example expect explain extra faced
    facts false family fancy father fault favour field fifth fight figure filed final finally find fine finish
    first fixed flash fleet flesh floor focus follow force forget form forth forward found fourth frame fresh
    friend from front fruit future general given giving glass goods grade grand grant grass great green group guard
    guess guide half happen happy hardly hate having head hear heard heart heavy hello help hence hope horse hotel
    house however human hurry ideal image impact inform inside install instead into issue issues item items join
    joint judge keen kind knew know known large laser last late later laugh learn least leave left legal less
    letter level lines list listen live local logic long look looks loose lot love luck lunch main major make maker
    making manage manager many march mark match matter maybe mean means meant meet mention mess message might mind
    minor minute model moment money month months more morning most mostly motor mouth move much music must name
    named near need never news next nice night noise none north note noted notice number obviously office often
    older once only open opened operator option order other others ought outer outside owner paint panel paper part
    parts party pass past pattern pause peace people percent person phase phone photo picture piece place plain
    plan plane plant plate play point points police pound power press price pride prime print prior prize problem
    problems process product proof proper proud prove provide purse question quick quickly quiet quite radio raise
    range ratio reach ready real reason receive recent recently record remark remember remind repair repeat report
    request result retain return right river road role roof room rough round route royal safe sale same save scale
    scene school score screw sense sent series serve service seven several shall shape share sharp shelf shell
    shift shine shirt shop short shot should shout show shown side sight simple since single site sitting sixth
    size skill sleep slide slight small smart smile smoke solid solve some someone something sorry sort sound
    source south space spare speak special speed spend spoke sport staff stage stand start state station steam
    steel step steps stick still stock stone stood store storm story strange street strike strong study stuff style
    such sugar suite super support sure swear sweet table take taken taking talk taste teach team tell term terms
    test thank thanks their them then there these thick thing things think third this those though thought three
    threw throw tight time times tired title today together told tomorrow tonight took top total touch tough toward
    tower track trade train treat trend trial tried true trust truth trying twice type under union unit until upper
    urgent used useful user using usual usually valid value various very video visit voice wait wall want wants
    watch water ways week weeks weight well were west what wheel when where whether white whole whose wide will
    window wish with within woman word work workshop world worry worse worst worth would wound write wrong year
    years yellow young your yours monday tuesday wednesday thursday friday saturday sunday january february april
    june july august september october november december afternoon evening court food among project projects bank
    production walk walks walked walking sell winning sold collection wonder wonders band beach senior feels glad
    sick located locate tree investment cent mental fund funds camp handle handled handles handling prevent
    prevents preventing prevented fellow cells conversation farm farms farming shoot links banks grown lawyer shoes
    squad taxes truck trucks fired funding stream streams drunk scared decade decades seeking seek seeks tips tend
    tends unlike unlikely defined define defines excuse expert experts chose concert crash crashed crashes shame
    ships heavily linked fees marine retirement wondering tall loans nose bread convention riding meal meals trick
    defend accused courts bonus cooking fort gross math woods bath retired retire pitch winners struck boost foods
    steal butter recall recalls abroad compete lawyers pace races bands creek resort seed spell consent banking
    exit exits risk risks tie ties tail compensation defending foster infection shore invest punch triple devil
    hurts phrase phrases stem stems alien beast celebration derived derive fifty forty funded relax relaxed rely
    relies relying relied tale seeds composed dawn investments boats garage refers celebrated popularity robot
    robots tasks competing fever productive bitter collections males stole trace traces tracing trapped trap acres
    chuck fires invented lease stake swift tricks accent beans invitation stairs sweat consultant consultants haven
    reportedly dive prof cooked investing booth seemingly tales diary safer sells thoroughly thorough gambling
    curse scare consulting deficit rides crops pills shook stack tide bust string strings flames insects possess
    rider ruins stakes sheer wheat slice mates projected riders straw handy lanes sweep waist blend brake brakes
    newer spice towel buys readily seas lounge mint glance scrap fond leaning prospective vague curtain lads relay
    hints possessed outrage oversight refined slots stats token spoil spoiled font lacked snapped instant instance
    instances otherwise frequently frequent capacity overall overhead overcome overcame overlook overlooked
    overtime overview overnight understand understands understood understanding undertake undertaken handover
    hangover weekend weekends downtime throughout everything everybody somebody somehow somewhat sometime whatever
    wherever whoever furthermore moreover meantime meanwhile background feedback workforce workplace workload
    workout paperwork headline deadline deadlines timeline timetable highlight highlights lifetime breakfast
    helpful pointless unusable usable unable unbearable undeniable unfit unload unloading undo uncertain unsure
    unclear rails defects defect tuning projection validation timer tended aided belts belt chased casing notch
    trip trips shaft lever caller slips slip comma header headers mails backwash backwashing backwashed flakes
    scraped tiles pints powders powder stalk crate thorn shutter shutters exceptional exception excellent exactly
    exempt examine hesitate hoping hopeful chapter chemist gently grateful greetings greet bearable weary windy
    steep shed shelter sprinkler stable stables colleagues consultancy contractor contractors subcontractor foreman
    supervisor trainee apprentice boss dinner coffee holiday holidays vacation summer autumn winter spring season
    seasons lettering letters lettered mystery puzzled puzzling confused confusing annoying annoyed embarrassing
    invoice billing department quarter quarterly weekly monthly yearly hourly crew crews gang shifts
    electrolyte electrolytes electrolytic electrolysis electrolyser electrolyzer electrician electricians
""")
"""Words that are never taken for a misspelling of a word of the trade (``look`` is not ``loop``)."""
