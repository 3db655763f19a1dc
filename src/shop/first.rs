//! The script that `start` writes: it builds as it is, and says what each line does.

/// A first script for a part of this name.
pub fn first_script(name: &str) -> String {
    let name: String = name
        .chars()
        .map(|c| {
            if matches!(c, '"' | '\\') || c.is_control() {
                ' '
            } else {
                c
            }
        })
        .collect();
    format!(
        r#"// {name}: a first part. Lines that begin with // are notes for people; the program skips them.
// Change a number, save, and run the command again: foamwright make THIS-FILE
// foamwright words        lists every word that can stand here
// foamwright words boss   explains one of them

part("{name}");
units("mm");            // or "in"; a length may also be written "3/4 in" or "20 mm"
metal("A356");          // sets how much larger the pattern is than the casting
stock(2.5);             // metal left on every face that has a finish mark, to be machined off
fillets(3);             // radius at the foot of everything that stands on something

// A number with a name can be changed from outside: foamwright make THIS-FILE --set bore=25
let bore = setting("bore", 20);

// A plate lies on the ground. Its outline is 120 long and 80 wide with round corners; it is 12 high.
let plate = slab("plate", #{{ outline: rect(120, 80).corners(10), height: 12 }});

// A boss stands on the plate's top, in its middle, with a bore from its top down to the plate.
let hub = boss("hub", #{{ on: plate.top, dia: bore + 20, height: 25, bore: bore }});

// The bore goes on through the plate, so that a shaft can pass.
bore("shaft hole", #{{ into: plate.bottom, dia: bore, to: hub.top }});

// Four screw holes, one near each corner.
bore("screw holes", #{{ into: plate.top, at: rect_corners(96, 56), dia: clear("M8"), through: true }});

// Faces to be machined get a finish mark: the casting is thicker there by the stock.
finish(plate.bottom);
finish(hub.top);
"#
    )
}
