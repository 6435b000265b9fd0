#include <array>

#include "cli/render/words/glossary.h"

// Plain words for people who know no electronics. The harbour in the examples is that
// of circuits/harbour-light.toml or made up like it; figures of trade are common
// practice.

namespace benchproof {
namespace {

constexpr std::array kWords = {
    // --- what flows
    // -------------------------------------------------------------------
    Word{"voltage", "volt,volts,V,mV",
         "How hard electricity is pushed between two places, measured in volts (V). It "
         "is "
         "always between two places; where one only is named, the other is ground.",
         "The wall supply of the harbour pushes with 12 V, the rail behind the "
         "regulator "
         "with 5 V.",
         "current,ground,net"},
    Word{"current", "ampere,amp,amps,A,mA,uA",
         "How much electricity flows through a part, measured in amperes (A), here "
         "mostly "
         "in thousandths of one (mA). Too much of it is what burns parts.",
         "A quay lamp shines well with 3 mA; 30 mA would end it.",
         "voltage,power,rating"},
    Word{"resistance", "ohm,ohms,kohm",
         "How much a part hinders the current, measured in ohms. Current = voltage / "
         "resistance (Ohm's law).",
         "150 ohm between the pin and the quay lamp let 3.4 mA through.",
         "resistor,current"},
    Word{"power", "watt,watts,W,mW",
         "What a part turns into heat, light or motion each second, measured in watts "
         "(W): "
         "voltage times current. A supply's power is what it gives, so it is negative.",
         "The harbour's main lantern takes 0.54 W, a quay lamp 0.01 W.",
         "heat sink,rating,junction"},
    Word{"DC", "direct current",
         "Direct current: plus stays plus. Batteries and wall supplies give it. The "
         "mains "
         "are AC, which changes direction 50 or 60 times a second; this program is not "
         "for "
         "that.",
         "The label of the harbour's wall supply says 'OUTPUT 12 V DC'.",
         "supply,mains"},
    Word{"prefix", "milli,micro,kilo,mega,nano,pico",
         "A letter before a unit: k is a thousand, M a million, m a thousandth, u a "
         "millionth, n a thousandth of that, p of that. m and M are a thousand million "
         "apart, so capitals count there.",
         "20 mA are 0.020 A; a resistor of 4.7 kohm has 4700 ohm.", "letter code"},
    Word{"leakage", "leak,leaks",
         "The tiny current that passes where none should: through a blocked diode, an "
         "open "
         "output, dust. It matters where nothing else sets a voltage.",
         "Behind the open door switch of the harbour cabin a meter shows some volts "
         "that "
         "only leakage sets.",
         "floating"},
    Word{"ground", "GND,earth,zero,0V",
         "The net that all voltages are measured against; most often the minus of the "
         "supply. In a description it is the net called 'ground'.",
         "All the cathodes of the quay lamps meet at ground.", "net,voltage"},
    Word{"short circuit", "short,shorted",
         "A way for the current with next to no resistance. What flows is then limited "
         "by "
         "nothing but the supply, and something gets hot.",
         "A drop of solder between the two rails of the pier is a short circuit.",
         "fuse,current"},
    // --- how a circuit is written down
    // ------------------------------------------------
    Word{"description", "file,toml",
         "The text file that says which parts there are, which pins meet, and what you "
         "want to be sure of. Its form is called TOML; its name ends in .toml.",
         "circuits/harbour-light.toml is the description of the whole harbour.",
         "part,net,state,expectation"},
    Word{
        "part", "component,parts",
        "One thing that you buy and solder. It has a name of your choice, a kind, and "
        "figures.",
        "quay1 = { kind = \"led\", colour = \"warm white\" } is a part of the harbour.",
        "kind,pin,type"},
    Word{"kind", "kinds",
         "What sort of thing a part is: resistor, led, transistor ... It decides the "
         "pins "
         "and what can be said of the part. 'benchproof parts' lists all kinds.",
         "The foghorn of the harbour is of the kind 'buzzer'.", "part,type"},
    Word{"type", "types,part number",
         "The maker's or the trade's name for one part that one can order. The "
         "catalogue "
         "knows its figures.",
         "The guard diode at the harbour's inlet is of the type 1N5819.",
         "kind,catalogue"},
    Word{"pin", "pins,pinout,lead,leg,terminal",
         "One of the metal legs of a part. It is written as part.pin.",
         "'quay1.anode' is the long leg of the first quay lamp.", "net,part"},
    Word{
        "net", "nets,node",
        "A place where pins meet: all the metal that is soldered together and so has "
        "one "
        "voltage. The net 'ground' is the zero.",
        "rail = [\"reg.out\", \"chip.vdd\"] is the net on which the harbour's 5 V are.",
        "pin,ground,voltage"},
    Word{
        "state", "states,at rest,steady,rest",
        "One way in which the switches and outputs stand, and all that follows from it "
        "once everything has settled ('at rest'). Each state is proved by itself.",
        "The harbour has the states night, day and mooring.", "run,output,switch"},
    Word{
        "run", "runs,transient,in time,span,rise,step,steps,unpowered",
        "What happens over time from one state to another: switching on, a pulse, "
        "switching off. 'span' is how long it is looked at, 'rise' how long the supply "
        "takes to come up, 'unpowered' that every supply is at 0 V.",
        "The run 'power up' asks whether the harbour's 5 V are there within 60 ms.",
        "state,waveform"},
    Word{"expectation", "expect,expectations,bounds",
         "What you want to be sure of, written as [[expect]]: a voltage, current, "
         "power or "
         "temperature between two bounds, or a finding that is meant to be there. "
         "Where it "
         "does not hold, that is a fault.",
         "The harbour expects 2 to 6 mA in each quay lamp: bright enough, not glaring.",
         "finding,fault,margin"},
    Word{"variant", "variants,version",
         "A named set of changes to a description: what else might be built.",
         "The variant 'dim' of the harbour has larger resistors at the quay lamps.",
         "description"},
    Word{"template", "templates",
         "A description that is meant to be copied and changed. 'benchproof start "
         "--list' "
         "shows them.",
         "led-single is the template for a harbour with one lamp.", "description"},
    Word{"catalogue", "catalog",
         "The list of types whose figures the program knows, each with where it comes "
         "from. 'benchproof parts' shows it; a file of your own can add to it.",
         "'benchproof parts 1N5819' shows what is known of the harbour's guard diode.",
         "type,mark,source of a figure"},
    Word{"letter code", "IEC 60062,code,4k7,470R,330R",
         "How values are printed on parts: the letter stands where the point would. R "
         "is "
         "ohm, k a thousand, M a million.",
         "4k7 on the bag for the lantern's driver means 4700 ohm, 470R means 470 ohm.",
         "prefix,colour bands"},
    Word{"colour bands", "color bands,bands",
         "The rings on a resistor: the first ones are digits, then comes the number of "
         "zeros, then the tolerance.",
         "The quay lamps' 150 ohm are brown green brown gold.", "resistor,tolerance"},
    Word{"standard value", "E24,E12,E96,E3,series of values,IEC 60063",
         "Resistors and capacitors are sold in certain values only. E24 are the usual "
         "24 "
         "of each decade (1.0, 1.1, 1.2, 1.3, 1.5 ... 9.1).",
         "For 4 mA in a quay lamp 107.6 ohm would be right; the shop has 100 and 110.",
         "tolerance,resistor"},
    Word{"tolerance", "spread",
         "By how much a part may differ from the value printed on it. Spread is the "
         "same "
         "said of many copies of a circuit.",
         "A resistor of 150 ohm with 5 % may have anything from 142.5 to 157.5 ohm.",
         "standard value"},
    Word{"yield", "share of copies",
         "The share of copies of a circuit that work. It is counted over many copies "
         "whose "
         "parts differ as real ones do, and told with the bounds between which it lies "
         "with 95 % certainty.",
         "Of 100 copies of the harbour 69 work with 150 ohm at a quay lamp.",
         "tolerance,standard value"},
    // --- what the program says
    // --------------------------------------------------------
    Word{"verdict", "good,works",
         "The short answer to the question whether to build it: good, good with care, "
         "or "
         "not. It is the worst of all findings.",
         "The harbour's verdict at night is 'good, with care'.",
         "finding,fault,caution,note"},
    Word{"finding", "findings,check,checks,id",
         "One thing that was looked at and is worth telling: what, how much, which "
         "limit, "
         "and why. The word in brackets is its id; 'benchproof words ID' explains it.",
         "[touch] at the harbour's regulator says that it gets too hot for fingers.",
         "fault,caution,note,limit"},
    Word{
        "fault", "faults,error",
        "A finding that says: do not build it so. A part can be destroyed, an absolute "
        "rating is passed, or the circuit does not do its job.",
        "A quay lamp without its resistor is a fault.", "caution,rating,verdict"},
    Word{"caution", "cautions,with care,warning",
         "A finding that says: it works, but needs your care, or is outside of good "
         "practice.",
         "The harbour's supply at 84 % of what it may give is a caution.",
         "fault,note"},
    Word{"note", "notes", "A finding that is worth knowing and asks for nothing.",
         "That the buoy flickers 500 times a second is a note: no eye sees it.",
         "caution,fault"},
    Word{"limit", "limits", "The figure that a value is held against in a finding.",
         "60 C is the limit for what fingers may touch in the harbour office.",
         "rating,margin"},
    Word{"margin", "headroom,room,percent",
         "The share of a limit that is left: positive below the limit, negative beyond "
         "it. "
         "Headroom is the voltage that is left over for a part to work with.",
         "20 mA allowed and 15 mA flowing leave a margin of 25 % at the beacon.",
         "limit,rating"},
    Word{"rating", "ratings,rated,absolute rating,continuous rating,maximum",
         "What the maker says a part bears. An absolute rating must not be passed even "
         "for "
         "a moment; a lasting (continuous) one may for a short while.",
         "The red sector light is rated 20 mA.", "limit,derating,surge"},
    Word{"derating", "derate,derate-voltage",
         "Using a part below its rating on purpose, because it then runs cooler and "
         "lives "
         "longer, and because hot parts bear less.",
         "A resistor of 0.25 W in the harbour is given no more than 0.15 W.",
         "rating,tolerance"},
    Word{"witness", "witnesses,solver,solvers",
         "One of the two separate ways in which every voltage and current is worked "
         "out. "
         "Only if both tell the same is there a verdict.",
         "'both witnesses agree within 1 pV' stands above the harbour's table of nets.",
         "engine,nodal,agreement"},
    Word{"engine", "ngspice,worker,spice",
         "The first witness: a well known circuit simulator, ngspice, sealed in a "
         "process "
         "of its own that can reach no file and no network.",
         "'engine 3.96011 mA' is what it says of a quay lamp.", "witness,sealed"},
    Word{"nodal", "nodal solver",
         "The second witness, written for this program: it looks for the voltages of "
         "the "
         "nodes (nets) at which all currents add up.",
         "'nodal 3.96011 mA' is what it says of the same quay lamp.", "witness,net"},
    Word{"agreement", "agree,agrees,disagree,apart",
         "Whether both witnesses tell the same of every net and part. Where they do "
         "not, "
         "there is no verdict.",
         "The harbour's witnesses are apart by less than a millionth of a volt.",
         "witness"},
    Word{"by hand", "hand rule,hand rules,rule by hand",
         "A rule of a handbook that a person would work out on paper, held against the "
         "witnesses' figures. It needs no trust in any program.",
         "(5 V - 2 V) / 150 ohm is the rule for a quay lamp's current.", "witness"},
    Word{
        "mark", "verified,memory,practice,given,derived",
        "How far a figure can be trusted. verified: read in the source named; memory: "
        "recalled; practice: common practice, no source; given: by you; derived: "
        "worked "
        "out from others.",
        "'(verified)' behind the 60 C for the harbour's regulator says that the source "
        "was read.",
        "source of a figure,catalogue"},
    Word{"source of a figure", "source,sources,datasheet,sheet",
         "Where a figure comes from: a maker's sheet, a standard, a book, or practice. "
         "A "
         "part that gives a current is called a source too, and so is a pin of a "
         "mosfet.",
         "Each finding of the harbour ends in its limit's source.",
         "mark,supply,mosfet"},
    Word{"sealed", "seal,unsealed",
         "The engine runs where it can open no file, start no program and reach no "
         "network, so that nothing in a description can do harm.",
         "--allow-unsealed goes on where the machine under the harbour cannot do that.",
         "engine"},
    Word{"deck", "deck of the engine", "The exact text that the engine is asked with.",
         "'benchproof deck circuits/harbour-light.toml' prints that of the harbour.",
         "engine"},
    Word{"waveform", "waveforms,wave,course",
         "How a voltage or current goes up and down over time.",
         "The waveform of the harbour's rail rises to 5 V and stays there.", "run"},
    Word{"record", "records,regress,library",
         "The results of a circuit, kept beside it, so that a later change that moves "
         "them "
         "is seen. A library is a folder of circuits with their records.",
         "circuits/harbour-light.recorded.toml is the record of the harbour.",
         "finding"},
    Word{"shard", "shards",
         "One of several parts of a library, so that several machines can prove it at "
         "once.",
         "--shard 1/4 proves the first quarter of all harbours.", "record"},
    Word{"JSON", "CSV,HTML,TAP,JUnit,RFC 4180,RFC",
         "Forms of the results for other programs: JSON in general, CSV for tables, "
         "HTML for "
         "browsers, TAP "
         "and JUnit for what runs tests.",
         "'--csv' puts the harbour's shopping list into a spreadsheet.", "description"},
    Word{"circuit diagram", "diagram,SVG,schematic",
         "A drawing of which parts there are and what joins them, with a symbol for "
         "each "
         "part (IEC 60617). SVG is the form of file that browsers and drawing programs "
         "show at any size.",
         "In the harbour's diagram the current runs from the jack at the left to the "
         "lamps at the right, and down to ground.",
         "net,state"},
    // --- supplies
    // -----------------------------------------------------------------------
    Word{"supply", "dc-supply,power supply,adapter,jack,VCC,+5V",
         "What the electricity comes from. Its label tells the voltage that it gives "
         "and "
         "the current that it can give at most; the circuit takes what it needs.",
         "The harbour's supply says 12 V and 100 mA.", "regulated,battery,mains"},
    Word{"regulated", "unregulated,no_load,no-load",
         "A regulated supply holds the voltage on its label. An unregulated one gives "
         "more "
         "while little is taken: some 17 V where 12 V are printed.",
         "An old unregulated supply would make the harbour's regulator too hot.",
         "supply,regulator"},
    Word{"mains", "isolated",
         "The electricity in the wall, which kills. A supply that is isolated from it "
         "keeps it away from your circuit; work on the mains belongs to licensed "
         "people.",
         "Only the plastic wall supply of the harbour ever meets the mains.", "supply"},
    Word{"battery", "cell,cells,chemistry,charge,capacity,mAh,Ah,hours,lifetime",
         "Cells in a row. The chemistry (alkaline, lithium ...) and size tell its "
         "voltage; "
         "the capacity (in mAh) how long it lasts; an emptier one pushes less.",
         "Three AA cells run the lighthouse's lamp for some weekends.",
         "supply,voltage"},
    Word{"polarity", "polarised,plus,minus,wrong way round,reversed",
         "Which way round a part has to stand. What is polarised is harmed, or does "
         "nothing, the other way round.",
         "The guard diode protects the harbour from a plug of the wrong polarity.",
         "anode,cathode,capacitor"},
    Word{
        "fuse", "fuses",
        "A wire that melts before something else burns. It bears its rated current for "
        "ever, twice that for seconds.",
        "A fuse of 250 mA in front of the harbour saves the thin wires under the quay.",
        "short circuit,wire gauge"},
    Word{"inrush", "switching on",
         "The current at the moment of switching on, when capacitors are empty, lamps "
         "cold "
         "and motors at standstill. It is short, and many times the usual one.",
         "220 uF at the harbour's inlet take 10 A for some microseconds.",
         "surge,capacitor"},
    Word{"surge", "surges,pulse,peak",
         "A current that is far higher than the lasting one and short. Diodes and LEDs "
         "have a rating of its own for it.",
         "The guard diode bears 1 A for ever, and 25 A for some thousandths of a "
         "second.",
         "rating,inrush"},
    Word{"back-feed", "back feed,backfeed",
         "Current that flows backwards into a supply or regulator, because something "
         "behind it holds a higher voltage.",
         "The large capacitor behind the harbour's regulator feeds back when the plug "
         "is "
         "pulled.",
         "regulator,diode"},
    // --- small parts
    // --------------------------------------------------------------------
    Word{
        "resistor", "resistors",
        "A part that hinders the current. Before an LED it sets how bright the LED is, "
        "and it is what keeps it alive. Which value gives the light that you want is "
        "worked out by 'benchproof size'.",
        "Each lamp of the harbour has a resistor of its own.",
        "resistance,letter code,led"},
    Word{"led", "LEDs,light emitting diode",
         "A lamp that lets current pass one way only, from anode to cathode, and takes "
         "as "
         "much as it can get: it always needs a resistor in front.",
         "The quay lamps are LEDs of 3 mm.", "forward voltage,anode,resistor"},
    Word{
        "forward voltage", "drop,forward,forward current",
        "The voltage that an LED or diode takes for itself when it conducts: 2 V for a "
        "red LED, 3 V for a white or blue one, 0.7 V for an ordinary diode. The rest "
        "is "
        "left for the resistor.",
        "5 V - 2 V for the red sector light leave 3 V for its resistor.",
        "led,diode,resistor"},
    Word{"brightness", "light,bright,dim,faint",
         "Here: an LED's current as a share of its rated one. The light goes much like "
         "the current; eyes notice a half or a double. In a dim room 1 mA is seen, by "
         "day 5 mA; most LEDs bear 20 mA.",
         "A quay lamp at 17 % is bright beside a dark harbour.", "led,current"},
    Word{"anode", "anodes",
         "The plus leg of an LED or diode: the current goes in here. It is the longer "
         "leg "
         "of an LED.",
         "quay1.anode is joined to the resistor.", "cathode,led,polarity"},
    Word{"cathode", "cathodes",
         "The minus leg of an LED or diode: the current comes out here. It is the "
         "shorter "
         "leg, at the flat side of an LED; the ring of a diode.",
         "quay1.cathode is joined to ground.", "anode,led,polarity"},
    Word{"diode", "diodes,guard,Schottky",
         "A one-way valve for current, from anode to cathode.",
         "The guard diode behind the harbour's jack blocks a plug that is wired the "
         "other "
         "way round.",
         "forward voltage,reverse,zener"},
    Word{"reverse", "reverse voltage,reversed voltage",
         "The wrong way round through a diode or LED. They block it, up to a voltage "
         "that "
         "destroys them: LEDs bear 5 V only.",
         "Two LEDs of the harbour's signal that stand back to back guard each other.",
         "diode,led,rating"},
    Word{"zener", "zener diode,breakdown",
         "A diode that is used backwards: at its breakdown voltage it lets current "
         "through, and so holds that voltage.",
         "A zener of 5.1 V clips what comes into the harbour's sensor pin.",
         "diode,clamp"},
    Word{"clamp", "clamps",
         "What keeps a voltage from going further: a zener, or the diodes inside a "
         "controller's pins.",
         "12 V at a 5 V input of the harbour's chip flow through its clamp and may end "
         "it.",
         "zener,controller"},
    Word{
        "capacitor", "capacitors,farad,uF,nF,pF,bypass,capacitance",
        "A small store of charge: it holds a voltage up for a moment and smooths it. A "
        "bypass is one right beside a chip.",
        "220 uF hold the harbour's rail up while the lantern switches on.",
        "polarity,time constant,ripple"},
    Word{"ESR", "equivalent series resistance",
         "The resistance inside of a capacitor. It warms it and lets ripple through.",
         "The old capacitor under the pier has an ESR of 2 ohm.", "capacitor,ripple"},
    Word{"ripple", "ripples",
         "The small up and down that stays on a voltage that ought to be steady, and "
         "the "
         "current that it drives through a capacitor.",
         "The blinking buoy leaves a little ripple on the harbour's rail.",
         "capacitor,PWM"},
    Word{"endurance", "life",
         "The hours that a capacitor lasts at its greatest temperature. Ten degrees "
         "cooler "
         "is twice as long (practice).",
         "2000 h at 105 C are over ten years of harbour evenings at 45 C.",
         "capacitor"},
    Word{
        "time constant", "tau,delay",
        "Resistance times capacitance: how long a capacitor takes to fill to about two "
        "thirds through a resistor. After five of them it is full.",
        "100 kohm and 10 uF wait a second before the harbour's foghorn sounds.",
        "capacitor,resistance"},
    Word{"inductor", "inductance,henry,winding,dcr,coil",
         "A coil of wire. It keeps its current going: switched off, it drives the "
         "voltage "
         "up until something lets the current through.",
         "The relay that starts the harbour's crane has a coil.", "flyback,relay"},
    Word{"flyback", "freewheel,freewheeling,flyback diode",
         "The high voltage by which a coil keeps its current going when it is switched "
         "off, and the diode across the coil that takes it.",
         "Without its flyback diode the crane's relay would end the transistor.",
         "inductor,diode,relay"},
    Word{"relay", "relay-coil,armature,contact,contacts,pull-in",
         "A switch that a coil moves. It parts what is switched from what switches it.",
         "The relay of the harbour's crane pulls in at 3.8 V of its 5 V.",
         "inductor,flyback,switch"},
    Word{"motor", "motors,start_current,standstill",
         "Turns. When it starts it takes several times its usual current.",
         "The bridge's motor takes 100 mA, and 400 mA for the first tenth of a second.",
         "inrush,flyback"},
    Word{"switch", "switches,button,push button,pushbutton,closed,pressed",
         "Closed it lets the current through, open it does not. Each state says which.",
         "door = \"closed\" is the harbour cabin's door switch while somebody is in.",
         "state,open"},
    Word{"open", "not connected",
         "Of a switch: it lets nothing through. Of a pin: nothing is joined to it, on "
         "purpose. Of an output: it neither pushes nor pulls.",
         "open = [\"chip.spare\"] lists the pin of the harbour's chip that stays free.",
         "switch,floating,output"},
    Word{"trimmer", "potentiometer,wiper,turn",
         "A resistor with a sliding contact, the wiper. 'turn' says where it stands: 0 "
         "at "
         "a, 1 at b.",
         "A trimmer under the quay sets how bright the cabin glows.", "resistor"},
    Word{"light-resistor", "LDR,photoresistor,sensor",
         "A resistor that has less resistance the more light falls on it.",
         "It switches the harbour's lanterns on at dusk.", "resistor,heat-resistor"},
    Word{"heat-resistor", "NTC,thermistor",
         "A resistor whose resistance goes by its temperature.",
         "It lights the frost lamp in the harbour office.", "resistor,light-resistor"},
    Word{"wire gauge", "gauge,AWG,wire,cross-section",
         "How thick a wire is: as a cross-section (0.14 mm2) or by AWG, where larger "
         "numbers are thinner wires. Thin, long wires take voltage and get warm.",
         "Two metres of AWG 30 to the lighthouse take 0.1 V at 75 mA.", "fuse,voltage"},
    Word{"lamp", "bulb,filament",
         "A lamp with a filament. Cold it has a tenth of its resistance, so that "
         "switching "
         "it on takes far more than it takes later.",
         "The harbour's main lantern is one of 12 V and 50 mA.", "inrush,led"},
    // --- transistors, regulators
    // --------------------------------------------------------
    Word{"transistor", "transistors,NPN,PNP,bipolar",
         "A switch or valve without contacts: a small current into its base lets a "
         "large "
         "one flow from collector to emitter (NPN; PNP the other way round).",
         "The harbour's chip gives 3 mA to the base, the lantern gets 48 mA.",
         "base,saturation,gain,mosfet"},
    Word{"base", "bases",
         "The pin of a transistor that steers it. It always needs a resistor in front.",
         "'driver.base' is reached from the chip by way of 1 kohm.", "transistor,gain"},
    Word{"collector", "collectors",
         "The pin of a transistor at which the large current goes in (NPN).",
         "The lantern hangs on 'driver.collector'.", "transistor"},
    Word{"emitter", "emitters",
         "The pin of a transistor at which both currents come out (NPN); most often at "
         "ground.",
         "'driver.emitter' is at the harbour's ground.", "transistor"},
    Word{"gain", "current gain,hFE,beta",
         "How many times the base's current flows through a transistor's collector. It "
         "differs from copy to copy.",
         "With a gain of 100 the 3 mA of the chip could steer 300 mA of lanterns.",
         "transistor,saturation"},
    Word{"saturation", "saturated,fully on,half on",
         "A transistor that is fully switched on: it keeps only some tenths of a volt "
         "for "
         "itself and stays cool. Half on, it gets hot. A tenth of the load's current "
         "into "
         "the base makes sure of it (practice).",
         "The lantern's driver keeps 0.3 V: it is saturated.", "transistor,base"},
    Word{"mosfet", "MOS,gate,drain,threshold,channel,body diode",
         "A transistor that is steered by a voltage at its gate instead of a current. "
         "Its "
         "drain and source are the switch; the body diode inside lets current through "
         "the "
         "other way.",
         "A mosfet switches the strip of lights along the harbour's pier.",
         "transistor,saturation"},
    Word{"regulator", "regulators,7805,LDO,adjustable,adjust",
         "Makes a steady voltage out of a higher one, and turns what is left over into "
         "heat.",
         "The harbour's 78L05 makes 5 V out of 12 V: (12 V - 5 V) x 30 mA are 0.2 W of "
         "heat.",
         "dropout,heat sink,quiescent"},
    Word{"dropout", "dropout voltage",
         "The least voltage that a regulator needs above its output in order to work: "
         "2 V "
         "for a 7805 (memory), so that it wants 7 V at least. Below, its output goes "
         "down "
         "with its input.",
         "Four tired cells of 1.2 V are too little for the harbour's 5 V regulator.",
         "regulator,margin"},
    Word{"quiescent", "quiescent current,common",
         "The current that a regulator takes for itself, through its pin 'common'.",
         "6 mA of the harbour's supply go into the regulator itself.", "regulator"},
    Word{
        "junction", "junctions,junction temperature",
        "The place inside of a diode, transistor or chip where the heat arises. It is "
        "hotter than the outside; 125 or 150 C end it.",
        "The harbour's small regulator is at 65 C outside, and hotter at its junction.",
        "heat sink,thermal resistance"},
    Word{
        "thermal resistance", "K/W,thermal_resistance",
        "By how many degrees a part gets warmer for each watt that it turns into heat "
        "(K/W).",
        "160 K/W times 0.25 W: the harbour's small regulator is 40 degrees warmer than "
        "the air.",
        "junction,heat sink,ambient"},
    Word{"heat sink", "heatsink,heat,hot",
         "A piece of metal screwed to a part, that gives its heat to the air.",
         "With ten lanterns more the harbour's regulator would need a heat sink.",
         "thermal resistance,junction"},
    Word{"ambient", "temperature,celsius",
         "The temperature of the air around; 25 C if the description does not say.",
         "A harbour in a shop window in the sun wants ambient = \"45 C\".",
         "thermal resistance"},
    // --- controllers
    // --------------------------------------------------------------------
    Word{"controller", "microcontroller,chip,vdd,vss",
         "A small chip with a program that switches its outputs and reads its inputs. "
         "vdd "
         "is its plus, vss its minus.",
         "The harbour's chip fades the buoy and switches the quay lamps.",
         "output,input,PWM"},
    Word{"output", "outputs,high,low,push,pull,sink",
         "A pin by which a controller switches something. High it is joined to plus, "
         "low "
         "to ground, open to neither. It can give some 20 mA.",
         "\"chip.quay\" = \"high\" lights the quay.", "controller,PWM,pin strength"},
    Word{
        "input", "inputs,analogue,pull-up,pull-down,level",
        "A pin by which a controller reads whether a voltage is high or low (analogue: "
        "how high). A pull-up is a resistor that holds it high while nothing else "
        "does.",
        "The harbour's doorbell has a pull-up of 10 kohm.", "controller,floating"},
    Word{"floating", "float,floats,hanging",
         "A net whose voltage nothing sets. A meter shows whatever its own resistance "
         "makes of it, and an input there reads what it likes.",
         "Without its pull-up the harbour's doorbell rings by itself.",
         "input,leakage,open"},
    Word{"PWM", "pulse width modulation,phase,phases,on,off",
         "Switching on and off so fast that only the average is seen. In each phase "
         "('on', "
         "'off') the circuit is solved by itself.",
         "The buoy is on for 30 % of each 1/500 s, and looks dim.",
         "duty,frequency,flicker"},
    Word{"duty", "duty cycle", "The share of the time for which a PWM output is on.",
         "A duty of 30 % makes the harbour's buoy glow at about a third.", "PWM"},
    Word{"frequency", "hertz,Hz,kHz",
         "How often something repeats in a second, in hertz (Hz).",
         "500 Hz is the frequency at which the harbour's buoy is switched.",
         "PWM,flicker"},
    Word{
        "flicker", "modulation,modulated,flashes,candle,fire",
        "Light that goes up and down. Modulation is by how much: 100 % is fully dark "
        "in between. Slow flicker disturbs, and flashes of 3 to 70 a second can harm "
        "people who are sensitive to them: that is a caution. A fire or a candle that "
        "is "
        "meant to flicker is a run: states with the lamp high, low or open, and "
        "[[runs]] with uneven steps between them. Leave PWM out of it, or keep the run "
        "to a tenth of a second: each period of PWM is reckoned.",
        "500 Hz of the buoy are not seen; 10 flashes a second are a caution. The "
        "harbour's stove: from = \"glow\", steps = [{ at = \"120 ms\", state = "
        "\"flare\" }, { at = \"310 ms\", state = \"glow\" }], span = \"500 ms\".",
        "PWM,frequency,blink,run"},
    Word{
        "blink", "blinking,blinks,flash",
        "Light that goes on and off slowly enough to be seen, once a second or so. Two "
        "states say what is lit in each; a run with steps between them shows how it "
        "changes. Averages over PWM say nothing of it.",
        "The harbour's beacon blinks once in two seconds: states 'lit' and 'dark'.",
        "flicker,run,state"},
    Word{"brownout", "brown-out,reset",
         "A supply that sags so far that a controller loses its place and begins anew.",
         "The foghorn's start must not pull the harbour's 5 V below 4.3 V.",
         "controller,inrush"},
    Word{
        "pin strength", "strong pins,weak pins,resistance_high,resistance_low",
        "How hard a controller's output pushes. Copies differ, so that a strong one is "
        "looked at as well as a weak one.",
        "With a strong pin the quay lamps get more than the 3.4 mA of a weak one.",
        "output,tolerance"},
    Word{"supply voltage range", "range,ranges",
         "The voltages of a supply over which every check passes.",
         "At night the harbour works from 7.0 V to 15.5 V.", "supply,dropout"},
    Word{"Kirchhoff's law", "Kirchhoff,current law,voltage law",
         "What flows into a net flows out of it; and the voltages around a loop add up "
         "to "
         "nothing. Both witnesses are held to it.",
         "The 79.9 mA of the harbour's jack are found again in its lamps and chip.",
         "witness,net"},
    Word{"series", "in series,in a row,chain",
         "One behind the other, so that the same current flows through all of them and "
         "their voltages add up.",
         "Three red LEDs in series on 12 V share one resistor on the pier.",
         "parallel"},
    Word{"load", "loads,consumer",
         "What the electricity is for: a lamp, motor, buzzer or relay, as against what "
         "only serves it.",
         "The main lantern is the harbour's largest load.", "lamp,motor,supply"},
    Word{"divider", "voltage divider,dividers",
         "Two resistors in series; at the point between them stands a share of the "
         "whole "
         "voltage.",
         "10 kohm over 3.3 kohm let the harbour's chip see 3 V of its 12 V supply.",
         "series,resistor,input"},
    Word{"goal", "want,reaches",
         "What 'size' is asked for: a figure, then =, <= or >=, then a value.",
         "\"quay1 current = 4 mA\" is the goal for a quay lamp.", "standard value"},
    Word{"board", "boards,perforated board",
         "A plate full of holes, 2.54 mm apart, through which the leads of parts go. "
         "Copper around the holes holds the solder.",
         "The harbour's parts sit on a board of 20 by 12 holes below the pier.",
         "hole,copper,bridge,strip"},
    Word{
        "hole", "holes",
        "A place on a board for one lead, told by the letter of its row and the number "
        "of its column: B6.",
        "The guard diode stands from B2 to B6.", "board,pitch"},
    Word{"pitch", "pitches,grid",
         "The distance from one hole to the next: 2.54 mm, a tenth of an inch.",
         "A resistor lies over four pitches.", "hole,board"},
    Word{"copper", "copper side,pads,pad,groups,group",
         "The metal on the underside of a board. On pads every hole has its own, on "
         "strips the holes of a row share one, on groups five and five do.",
         "Turned over, the harbour's board shows its copper mirrored.",
         "board,strip,bridge"},
    Word{
        "strip", "strips,strip board,cut,cuts",
        "Copper that joins all holes of a row. It is cut, with a drill turned by hand, "
        "where two nets meet.",
        "Strip B of the quay's board is cut at B5.", "board,copper,net"},
    Word{"bridge", "solder bridge,bridges,jumper,join,joins",
         "Solder from one pad to the next: meant, or by mistake. Farther away pads are "
         "joined by an insulated "
         "wire, or by a jumper: a bare, straight wire on the parts' side.",
         "A bridge from B6 to B8 joins three holes of the harbour's rail; one from the "
         "rail to a "
         "quay lamp's pin lights the lamp by day.",
         "board,copper,hole,cold joint"},
    Word{"parallel", "in parallel,side by side",
         "Side by side, so that all have the same voltage and their currents add up. "
         "LEDs "
         "in parallel need a resistor each.",
         "The two quay lamps are in parallel, each with its 150 ohm.", "series,led"},
    // --- what is read off it once it is built
    Word{"reading", "readings,meter,multimeter",
         "What a meter shows at one place while the circuit is in one state, or how a "
         "part looks then. A meter moves a little what it measures, and is off by a "
         "little itself.",
         "At night a meter shows 5.0 V on the harbour's rail; the quay lamp looks as "
         "meant.",
         "voltage,ground"},
    Word{
        "diode test", "continuity test",
        "A range of a meter that sends about 1 mA from its red lead to its black one "
        "and shows the voltage between them; 'open' where nothing flows. Only with the "
        "power off.",
        "Across the harbour's guard diode it shows some 0.2 V one way and 'open' the "
        "other.",
        "diode,reading"},
    Word{"cold joint", "joint,joints",
         "Solder that touches a lead but does not join it. It looks dull or like a "
         "ball, and conducts badly, now and then, or not at all. Heat it again with a "
         "little fresh solder.",
         "With a cold joint at its resistor a quay lamp stays dark.", "reading"},
    // --- how a description is written, and what is said of it
    Word{
        "path", "paths,route",
        "A list of parts in the order in which the current passes them, from the plus "
        "of a source to its minus, which is the ground. What stands side by side in it "
        "is joined.",
        "house = [\"plug.plus\", \"switch\", \"r1\", \"lamp\", \"ground\", "
        "\"plug.minus\"] is the way through the harbour office's lamp.",
        "net,ground,part"},
    Word{
        "block", "blocks",
        "A group of parts that is described once and used often. Its pins are the nets "
        "of it that others are joined to.",
        "Ten houses of the harbour street are ten uses of one block of a resistor and "
        "an LED.",
        "path,part"},
    Word{"copy", "copies,single copy",
         "One built circuit of many: each has parts that are a little off, so no two "
         "are "
         "alike.",
         "Of 1000 copies of the quay lamp 998 are bright enough.",
         "tolerance,worst copy,yield"},
    Word{
        "worst copy", "worst copies",
        "The copy in which all parts are off, within their tolerances, in the way that "
        "does most harm.",
        "In the worst copy the quay lamp gets 4.1 mA in place of 3.4 mA.",
        "copy,tolerance"},
    Word{"in hand", "reserve,slack",
         "How far a value stays below its limit, as a share of the limit.",
         "3.4 mA of 20 mA: the quay lamp has 83 % in hand.", "margin,rating"},
    Word{
        "rated current", "full current,rated brightness",
        "The current at which a maker tells what a part does, for an LED mostly 20 mA. "
        "Light in percent is told of the light at that current.",
        "The quay lamp at 3.4 mA gives 17 % of the light of its rated current.",
        "current,rating,led"},
    Word{"proved", "prove,proof,good with care",
         "Reckoned by two witnesses that agree, and within every rating that is known. "
         "'good, with care' means that it works, and that there are cautions to read "
         "before it is built.",
         "The harbour light is proved: good, in all four states.",
         "witness,rating,refused"},
    Word{"refused", "refusal,refuse",
         "The description could not be read as it stands, so nothing was solved. Each "
         "complaint says where and what; all come at once.",
         "A lamp whose kind is misspelt is refused with one complaint.",
         "complaint,withheld"},
    Word{"complaint", "complaints,diagnostic",
         "What stands against a description: the place, what is wrong, a hint, and an "
         "id in brackets.",
         "harbour.toml:4:19: there is no kind 'lantern' [kind-unknown].",
         "refused,proved"},
    Word{"withheld", "withhold",
         "The verdict is not given, for a witness has no answer or the two do not "
         "agree. "
         "Of a long run with PWM: shorten its span, or leave the PWM out of it.",
         "A run of ten seconds of the buoy's 500 Hz has 5000 periods, and may be "
         "withheld.",
         "witness,run,PWM"},
    Word{"key", "keys", "A word of a description with '=' and a value behind it.",
         "value = \"150 ohm\" of a quay lamp's resistor: the key is 'value'.", "table"},
    Word{"table", "tables,section,brackets",
         "What stands below a name in brackets, up to the next one: [parts], [paths], "
         "[states.night]. What stands in { } is a table on one line.",
         "Under [parts] of the harbour each line is a part.", "key,part"},
    Word{"rail", "rails,plus rail,supply rail,power rail",
         "The net from which many parts take their supply; on a breadboard, the long "
         "row "
         "at its edge.",
         "The harbour's rail has 5 V.", "net,supply"},
    Word{"nominal", "nominal value,as printed",
         "As it is printed or told, before any tolerance.",
         "The quay lamp's resistor is nominally 150 ohm; it may have 143 to 157.",
         "tolerance"},
    Word{"within", "within 10%",
         "How far off a value may be: within = \"10%\" of 5 V is 4.5 V to 5.5 V.",
         "voltage = { nominal = \"5 V\", within = \"5%\" } of the harbour's rail.",
         "expectation,nominal"},
    Word{"slope", "slopes",
         "By how much one thing moves when another is moved a little; of an LED or a "
         "diode, how many volts more it takes for each ampere, in ohms.",
         "Of the quay lamp's current 0.02 mA go with each ohm of its resistor.",
         "resistance,tolerance"},
    Word{"seed", "seeds,random",
         "The number from which chance begins: the same seed gives the same copies "
         "again.",
         "With --seed 7 the harbour's thousand copies come out the same each time.",
         "copy"},
    Word{"exit status", "exit,exit code,return code",
         "The number with which the program ends, for scripts: 0 good, 1 a check "
         "failed, "
         "2 refused, 3 the engine failed, 4 the witnesses disagree.",
         "The harbour's proof ends with 0.", "proved,refused"},
    Word{"breadboard", "bread board,plugboard,row,rows",
         "A board with springs under its holes: five holes of a row are joined. In a "
         "description a row is a net: a list of the pins in it.",
         "row-12 = [\"r1.b\", \"lamp.anode\"] is row 12 of the harbour's trial board.",
         "net,rail,board"},
    Word{"decoupling", "decouple,bypass capacitor,decoupling capacitor",
         "A small capacitor close to a chip's supply pins, which gives what the chip "
         "takes in short bursts; 100 nF is usual.",
         "100 nF between vdd and vss of the harbour's chip.", "capacitor,rail"},
    Word{"bare", "bare number,bare word",
         "Of a number: without a unit and quotes. Of a word in a path: a part without "
         "one "
         "of its pins. Of a wire: without insulation.",
         "value = 150 is a bare number; \"150 ohm\" is not.", "prefix,path"},
    Word{"color", "colour,colours,colors",
         "Of an LED, what light it gives; it tells the voltage too. Of a resistor, the "
         "rings that tell its value.",
         "colour = \"warm white\" of a quay lamp.", "led"},
};

}  // namespace

std::span<const Word> glossary() { return kWords; }

}  // namespace benchproof
