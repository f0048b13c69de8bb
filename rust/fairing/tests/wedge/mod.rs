//! A double-ender in closed form whose waterlines end in wedges: stem and sternpost round into a straight keel as
//! superellipses do, sections are powers of the height, fuller amidships than at the ends.

const INCH: f64 = 0.0254;
const HALF_SIDING: f64 = 0.019;
/// How far abaft the head the stem meets the keel, and how far before it the sternpost does, m.
const ENDS: (f64, f64) = (1.05, 0.80);
/// Stations, and waterlines in inches above the base line.
const STATIONS: usize = 9;
const WATERLINES: [u32; 4] = [7, 12, 17, 23];
/// Spots of either profile, and how high the lowest is, m.
const SPOTS: usize = 6;
const LOWEST: f64 = 0.12;

/// One of them.
pub struct Wedge {
    length: f64,
    beam: f64,
    quick: f64,
}

/// What is put into her table, inches.
#[derive(Clone, Copy, Debug, Default)]
pub struct Slip {
    /// The first station further aft, and the last.
    pub stations: [i64; 2],
    /// The head of the stem further aft, and that of the sternpost.
    pub heads: [i64; 2],
}

impl Wedge {
    pub fn new(seed: u32) -> Wedge {
        Wedge {
            length: 6.4 + 0.3 * f64::from(seed),
            beam: 0.88 + 0.05 * f64::from(seed % 3),
            quick: 0.95 + 0.06 * f64::from(seed % 2),
        }
    }

    fn sheer(&self, x: f64) -> (f64, f64) {
        let plan = (2.0 * x / self.length - 1.0).clamp(-1.0, 1.0).abs();
        let up = 2.0 * (x / self.length - 0.52);
        let y = HALF_SIDING + self.beam * (1.0 - plan.powf(2.3)).powf(self.quick);
        (y, 0.70 + 0.30 * up.abs().powf(2.1) + if up < 0.0 { 0.04 * up * up } else { 0.0 })
    }

    fn rabbet(&self, x: f64) -> f64 {
        let keel = 0.09 + 0.01 * x / self.length;
        let end = |part: f64, power: f64, head: f64| {
            keel + (head - keel) * (1.0 - (1.0 - part.min(1.0).powf(power)).powf(1.0 / power))
        };
        let abaft = x - (self.length - ENDS.1);
        if x < ENDS.0 {
            end((ENDS.0 - x) / ENDS.0, 2.2, self.sheer(0.0).1)
        } else if abaft > 0.0 {
            end(abaft / ENDS.1, 1.9, self.sheer(self.length).1)
        } else {
            keel
        }
    }

    fn half_breadth(&self, x: f64, z: f64) -> Option<f64> {
        let ((y, top), foot) = (self.sheer(x), self.rabbet(x));
        let up = (z - foot) / (top - foot);
        let plan = (2.0 * x / self.length - 1.0).abs();
        let power = 1.25 + 2.6 * (1.0 - plan).powf(1.3);
        let full = (1.0 - (1.0 - up).powf(power)) * (1.0 + 0.05 * up * (1.0 - up));
        (0.0..=1.0).contains(&up).then_some(HALF_SIDING + (y - HALF_SIDING) * full)
    }

    /// Where stem or sternpost come to a height.
    fn profile(&self, stem: bool, z: f64) -> f64 {
        let (mut low, mut high) = if stem { (ENDS.0, 0.0) } else { (self.length - ENDS.1, self.length) };
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.rabbet(middle) < z { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// Her table, read to the eighth, with a slip in it.
    pub fn table(&self, slip: Slip) -> String {
        let apart = (self.length - 1.1) / (STATIONS - 1) as f64;
        let x: Vec<f64> = (0..STATIONS).map(|k| ((0.55 + apart * k as f64) / INCH).round() * INCH).collect();
        let row = |label: &str, cells: Vec<String>| format!("{label} | {}\n", cells.join(" "));
        let all = |f: &dyn Fn(f64) -> f64| x.iter().map(|&x| written(f(x), 0)).collect::<Vec<_>>();
        let mut from_stem = all(&|x| x);
        from_stem[0] = written(x[0], slip.stations[0]);
        from_stem[STATIONS - 1] = written(x[STATIONS - 1], slip.stations[1]);
        let mut text = format!(
            "+++\nformat = 1\nname = \"Wedge\"\nunits = \"feet-inches-eighths\"\nmoulded_to = \"outside of planking\"\n\
             planking = \"0-0-4\"\n[backbone]\nhalf_siding = \"{}\"\n+++\n\n",
            written(HALF_SIDING, 0)
        );
        text += &row("station", (1..=STATIONS).map(|k| k.to_string()).collect());
        text += &row("from stem", from_stem);
        text += "\n[heights]\n";
        text += &row("sheer", all(&|x| self.sheer(x).1));
        text += &row("rabbet", all(&|x| self.rabbet(x)));
        text += "\n[half-breadths]\n";
        text += &row("sheer", all(&|x| self.sheer(x).0));
        for inches in WATERLINES {
            let z = f64::from(inches) * INCH;
            let cell = |&x: &f64| self.half_breadth(x, z).map_or("-".to_string(), |y| written(y, 0));
            text +=
                &row(&format!("waterline {}-{}-0", inches / 12, inches % 12), x.iter().map(cell).collect());
        }
        for (stem, name) in [(true, "stem"), (false, "stern")] {
            let head = self.sheer(if stem { 0.0 } else { self.length }).1;
            let up = |k: usize| head - (head - LOWEST) * k as f64 / (SPOTS - 1) as f64;
            let moved = |k: usize| if k == 0 { slip.heads[usize::from(!stem)] } else { 0 };
            text += &format!("\n[{name} profile]\n");
            text +=
                &row("from stem", (0..SPOTS).map(|k| written(self.profile(stem, up(k)), moved(k))).collect());
            text += &row("height", (0..SPOTS).map(|k| written(up(k), 0)).collect());
        }
        text
    }
}

/// A length in feet, inches and eighths, some inches more.
fn written(m: f64, inches: i64) -> String {
    let eighths = (8.0 * m / INCH).round() as i64 + 8 * inches;
    let sign = if eighths < 0 { "-" } else { "" };
    let eighths = eighths.abs();
    format!("{sign}{}-{}-{}", eighths / 96, eighths / 8 % 12, eighths % 8)
}
