# Three pots of the demo, from the first drop to the match: sh assets/demo/pots.sh, from the folder of ./run, into a new workbook.
# Readings are those of the mixes as rendered (tests/demo), with the noise of a careful reading; a test replays all of it.
set -e
XDG_DATA_HOME=$(mktemp -d)
export XDG_DATA_HOME
./run import assets/demo/shelf.json
./run mix suggest 'Damson 14' --drops 40
./run mix start 'body side' --target 'Damson 14' --tolerance 1.5
./run mix add 'body side' 'Titanium White' 16
./run mix add 'body side' 'Carbon Black' 2
./run mix add 'body side' 'Quinacridone Violet' 16
./run mix read 'body side' --lab 32.0,24.2,-11.2 --sd 0.3
./run mix next 'body side'
./run mix add 'body side' 'Titanium White' 4
./run mix add 'body side' 'Burnt Umber' 2
./run mix add 'body side' Ultramarine 4
./run mix read 'body side' --lab 32.0,20.3,-12.6 --sd 0.3
./run mix next 'body side'
./run mix suggest 'Straw 31' --drops 40
./run mix start lining --target 'Straw 31' --tolerance 2
./run mix add lining 'Titanium White' 22
./run mix add lining 'Burnt Umber' 1
./run mix add lining 'Yellow Oxide' 9
./run mix read lining --lab 72.0,6.6,33.7 --sd 0.3
./run mix next lining
./run mix add lining 'Titanium White' 1
./run mix add lining 'Diarylide Yellow' 1
./run mix read lining --lab 71.7,6.5,36.9 --sd 0.3
./run mix next lining
./run mix suggest 'Heather 09' --drops 40
./run mix start benches --target 'Heather 09' --tolerance 1.5
./run mix add benches 'Titanium White' 24
./run mix add benches 'Dioxazine Purple' 2
./run mix add benches 'Red Oxide' 3
./run mix read benches --lab 49.4,13.7,-12.5 --sd 0.3
./run mix next benches
./run mix add benches 'Titanium White' 3
./run mix add benches Ultramarine 1
./run mix add benches 'Yellow Oxide' 1
./run mix read benches --lab 49.7,11.2,-11.4 --sd 0.3
./run mix next benches
./run mix log 'body side'
./run mix log 'lining'
./run mix log 'benches'
./run mix scale 'body side' --ml 15
./run paint learn
