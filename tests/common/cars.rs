//! Random specs with every way of actuation, as people write them: right and wrong, alone and derived.

use rand::rngs::StdRng;
use rand::{RngExt, SeedableRng};
use std::fmt::Write;

/// A block of a spec: its head and its fields, each with its value.
struct Block {
    head: String,
    fields: Vec<(&'static str, String)>,
}

/// Draws specs.
pub struct Cars {
    random: StdRng,
    in_inches: bool,
}

impl Cars {
    pub fn new(random: StdRng) -> Self {
        Self {
            random,
            in_inches: false,
        }
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.random.random::<f64>()
    }

    fn chance(&mut self, part: f64) -> bool {
        self.random.random::<f64>() < part
    }

    /// A length in the spec's unit, sometimes with a tolerance.
    fn length(&mut self, low: f64, high: f64) -> String {
        let mm = self.between(low, high);
        let tolerance = match self.chance(0.08) {
            true => format!(" ± {:.2} mm", 0.01 * mm.max(1.0)),
            false => String::new(),
        };
        match self.in_inches {
            true => format!("{:.3} in{tolerance}", mm / 25.4),
            false => format!("{mm:.1} mm{tolerance}"),
        }
    }

    fn bore(&mut self) -> String {
        match self.in_inches {
            true => format!("{}/16 in", self.random.random_range(10..=18)),
            false => format!("{} mm", self.random.random_range(16..=28)),
        }
    }

    fn number(&mut self, low: f64, high: f64, unit: &str) -> String {
        format!("{:.3} {unit}", self.between(low, high))
            .trim()
            .to_owned()
    }

    /// Adds a field sometimes.
    fn maybe(
        &mut self,
        block: &mut Block,
        part: f64,
        name: &'static str,
        value: impl FnOnce(&mut Self) -> String,
    ) {
        if self.chance(part) {
            let value = value(self);
            block.fields.push((name, value));
        }
    }

    /// The text of a spec: one system, or a base and a derived system that repeats some of its blocks.
    pub fn spec(&mut self) -> String {
        self.in_inches = self.chance(0.5);
        let mut blocks = self.blocks();
        self.add_what_few_have(&mut blocks);
        let is_derived = self.chance(0.5);
        let mut base = String::new();
        let mut own = String::new();
        for block in &blocks {
            let mut body = String::new();
            for (name, value) in &block.fields {
                let _ = write!(body, "  {name} = {value}");
            }
            let _ = writeln!(base, "    {} {{{body} }}", block.head);
            // What the base says may be said again by the system.
            if is_derived && self.chance(0.3) {
                let (name, value) = &block.fields[0];
                let _ = writeln!(own, "    {} {{ {name} = {value} }}", block.head);
            }
        }
        let requires = self.requires();
        match is_derived {
            false => format!("system car {{\n{base}{requires}}}\n"),
            true => format!(
                "system base_car {{\n{base}}}\n\nsystem car from base_car {{\n{own}{requires}}}\n"
            ),
        }
    }

    /// Adds things that few cars have. They are drawn separately, so that the rest of a car does not change.
    fn add_what_few_have(&mut self, blocks: &mut Vec<Block>) {
        let fields = blocks.iter().flat_map(|block| &block.fields);
        let seed = fields
            .flat_map(|(_, value)| value.bytes())
            .fold(0_u64, |seed, byte| {
                seed.wrapping_mul(31).wrapping_add(byte.into())
            });
        let mut aside = Self {
            random: StdRng::seed_from_u64(seed),
            in_inches: self.in_inches,
        };
        let has = |block: &Block, field: &str| block.fields.iter().any(|(name, _)| *name == field);
        let mut is_wet = false;
        for block in blocks.iter_mut() {
            match block.head.as_str() {
                "pedal" if has(block, "pad_arm") && !has(block, "assist") && aside.chance(0.2) => {
                    let (anchor, hook) = (aside.between(50.0, 100.0), aside.between(20.0, 45.0));
                    let free = (anchor + hook) * aside.between(0.7, 0.95);
                    block.fields.extend([
                        ("assist_rate", aside.number(5.0, 30.0, "N/mm")),
                        ("assist_free_length", format!("{free:.1} mm")),
                        ("assist_anchor", format!("{anchor:.1} mm")),
                        ("assist_hook", format!("{hook:.1} mm")),
                        ("assist_angle", aside.number(-2.0, 15.0, "deg")),
                    ]);
                }
                "master" => {
                    is_wet = true;
                    aside.maybe(block, 0.2, "return_force", |s| s.number(2.0, 40.0, "N"));
                }
                _ => {}
            }
        }
        if is_wet && aside.chance(0.2) {
            let large = aside.between(20.0, 34.0);
            let small = large * aside.between(0.75, 0.98);
            let fields = vec![
                ("in_bore", format!("{large:.1} mm")),
                ("out_bore", format!("{small:.1} mm")),
                ("stroke", aside.length(10.0, 40.0)),
            ];
            let head = "intensifier".to_owned();
            blocks.push(Block { head, fields });
        }
        let fork = blocks.iter_mut().find(|block| block.head == "fork");
        if let Some(fork) = fork {
            aside.maybe(fork, 0.15, "return_force", |s| s.number(20.0, 80.0, "N"));
        }
    }

    fn requires(&mut self) -> String {
        let mut text = String::new();
        if self.chance(0.15) {
            let limit = self.between(90.0, 200.0);
            let _ = writeln!(text, "    require pedal_effort <= {limit:.0} N");
        }
        if self.chance(0.15) {
            let limit = self.between(0.0, 2.0);
            let _ = writeln!(text, "    require release_margin >= {limit:.1} mm");
        }
        text
    }

    fn blocks(&mut self) -> Vec<Block> {
        let block = |head: &str| Block {
            head: head.to_owned(),
            fields: Vec::new(),
        };
        let mut blocks = Vec::new();
        let mut pedal = block("pedal");
        pedal.fields.push(("travel", self.length(110.0, 175.0)));
        match self.chance(0.5) {
            true => pedal.fields.push(("ratio", self.number(4.0, 7.5, ""))),
            false => {
                let arm = self.between(220.0, 330.0);
                let ratio = self.between(4.2, 7.0);
                pedal.fields.push(("pad_arm", format!("{arm:.1} mm")));
                pedal
                    .fields
                    .push(("rod_arm", format!("{:.1} mm", arm / ratio)));
            }
        }
        self.maybe(&mut pedal, 0.6, "free_play", |s| s.length(2.0, 20.0));
        self.maybe(&mut pedal, 0.2, "stop", |s| s.length(90.0, 170.0));
        self.maybe(&mut pedal, 0.4, "return_force", |s| {
            s.number(0.0, 30.0, "N")
        });
        self.maybe(&mut pedal, 0.1, "assist", |s| {
            let peak = s.between(5.0, 60.0);
            format!(
                "curve {{ 0 mm: 0 N, 60 mm: {peak:.0} N, 150 mm: {:.0} N }}",
                peak * 0.7
            )
        });
        blocks.push(pedal);
        let way = self.random.random_range(0..4);
        if way < 2 {
            let mut master = block("master");
            master.fields.push(("bore", self.bore()));
            master.fields.push(("stroke", self.length(20.0, 40.0)));
            self.maybe(&mut master, 0.5, "port_travel", |s| s.length(0.3, 2.0));
            self.maybe(&mut master, 0.5, "mount_stiffness", |s| {
                s.number(120.0, 3000.0, "N/mm")
            });
            self.maybe(&mut master, 0.3, "max_pressure", |s| {
                s.number(1.5, 8.0, "MPa")
            });
            blocks.push(master);
            let mut line = block("line hose");
            line.fields.push(("bore", "3.2 mm".to_owned()));
            line.fields.push(("length", self.length(200.0, 1500.0)));
            self.maybe(&mut line, 0.7, "expansion", |s| {
                format!("{:.2} cc/ft / 1000 psi", s.between(0.1, 1.0))
            });
            self.maybe(&mut line, 0.2, "max_pressure", |s| {
                s.number(1.8, 10.0, "MPa")
            });
            blocks.push(line);
            let mut slave = block("slave");
            if way == 0 {
                slave.fields.push(("bore", self.bore()));
            } else {
                let inner = self.between(28.0, 42.0);
                let width = self.between(3.0, 7.0);
                slave
                    .fields
                    .push(("outer", format!("{:.1} mm", inner + 2.0 * width)));
                slave.fields.push(("inner", format!("{inner:.1} mm")));
            }
            slave.fields.push(("stroke", self.length(15.0, 35.0)));
            self.maybe(&mut slave, 0.7, "rest_extension", |s| s.length(0.0, 15.0));
            self.maybe(&mut slave, 0.2, "max_pressure", |s| {
                s.number(1.8, 10.0, "MPa")
            });
            blocks.push(slave);
            if self.chance(0.6) {
                let mut fluid = block("fluid");
                fluid
                    .fields
                    .push(("bulk_modulus", self.number(0.8, 2.0, "GPa")));
                self.maybe(&mut fluid, 0.2, "air", |s| s.number(0.0, 1.5, "cc"));
                blocks.push(fluid);
            }
        } else if way == 2 {
            let mut cable = block("cable");
            cable
                .fields
                .push(("bends", self.number(60.0, 360.0, "deg")));
            cable.fields.push(("friction", self.number(0.04, 0.2, "")));
            self.maybe(&mut cable, 0.6, "stiffness", |s| {
                s.number(40.0, 400.0, "N/mm")
            });
            self.maybe(&mut cable, 0.4, "play", |s| s.length(0.2, 5.0));
            if self.chance(0.3) {
                cable
                    .fields
                    .push(("tightest_bend", self.length(50.0, 150.0)));
                cable.fields.push(("min_bend", self.length(60.0, 110.0)));
            }
            blocks.push(cable);
        } else {
            let mut linkage = block("linkage");
            linkage.fields.push(("in_arm", self.length(50.0, 110.0)));
            linkage.fields.push(("out_arm", self.length(40.0, 110.0)));
            self.maybe(&mut linkage, 0.6, "play", |s| s.length(0.2, 5.0));
            self.maybe(&mut linkage, 0.6, "stiffness", |s| {
                s.number(80.0, 1500.0, "N/mm")
            });
            blocks.push(linkage);
        }
        if way != 1 {
            let mut fork = block("fork");
            match self.chance(0.5) {
                true => fork.fields.push(("ratio", self.number(1.2, 2.4, ""))),
                false => {
                    fork.fields.push(("slave_arm", self.length(90.0, 150.0)));
                    fork.fields.push(("bearing_arm", self.length(50.0, 80.0)));
                }
            }
            self.maybe(&mut fork, 0.6, "stiffness", |s| {
                s.number(150.0, 3000.0, "N/mm")
            });
            self.maybe(&mut fork, 0.3, "window", |s| s.length(12.0, 28.0));
            blocks.push(fork);
        }
        if self.chance(0.5) {
            let mut bearing = block("bearing");
            bearing.fields.push(("free_play", self.length(0.0, 3.0)));
            self.maybe(&mut bearing, 0.6, "max_travel", |s| s.length(7.0, 16.0));
            blocks.push(bearing);
        }
        blocks.push(self.cover());
        if self.chance(0.5) {
            let mut disc = block("disc");
            disc.fields.push(("outer", "228 mm".to_owned()));
            disc.fields.push(("inner", "150 mm".to_owned()));
            disc.fields.push(("friction", self.number(0.25, 0.4, "")));
            self.maybe(&mut disc, 0.6, "wear", |s| s.number(0.5, 2.5, "mm"));
            if self.chance(0.5) {
                disc.fields.push(("cushion", self.number(0.4, 1.2, "mm")));
                disc.fields.push(("clearance", self.number(0.2, 0.5, "mm")));
            }
            blocks.push(disc);
            let mut engine = block("engine");
            engine
                .fields
                .push(("torque", self.number(120.0, 350.0, "N*m")));
            blocks.push(engine);
        }
        blocks
    }

    fn cover(&mut self) -> Block {
        let near = self.between(5.5, 9.0);
        let far = near + self.between(2.0, 5.0);
        let peak = self.between(800.0, 2600.0);
        let window = match self.in_inches {
            true => format!("{:.3} in to {:.3} in", near / 25.4, far / 25.4),
            false => format!("{near:.1} mm to {far:.1} mm"),
        };
        let load = match self.chance(0.5) {
            true => format!("{peak:.0} N"),
            false => format!(
                "curve {{ 0 mm: {:.0} N, 2 mm: {:.0} N, 5 mm: {peak:.0} N, 9 mm: {:.0} N }}",
                0.1 * peak,
                0.7 * peak,
                0.9 * peak
            ),
        };
        let mut fields = vec![("release_travel", window), ("release_load", load)];
        if self.chance(0.7) {
            fields.push(("finger_ratio", self.number(3.0, 4.5, "")));
        }
        if self.chance(0.5) {
            fields.push(("clamp_load", self.number(3000.0, 9000.0, "N")));
        }
        Block {
            head: "cover".to_owned(),
            fields,
        }
    }
}
