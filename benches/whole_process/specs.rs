//! Specs of any number and length, about invented vans.

use std::fmt::Write as _;
use std::path::Path;

/// A spec of 60 lines: a van with an outside slave, and a derived van with another pedal stop.
pub fn spec(number: usize) -> String {
    let mut text = base(number);
    let travel = 150 + number % 7;
    let _ = write!(
        text,
        "\n# The stop as the workshop sets it for short drivers.\nsystem van_low from van {{\n    pedal {{ travel = {travel} mm }}\n}}\n"
    );
    text
}

/// A spec of at least `lines` lines and at least 66: a van and its derived systems, each on five lines.
pub fn long_spec(lines: usize) -> String {
    let mut text = base(0);
    let relatives = lines.saturating_sub(text.lines().count()) / 5;
    for number in 0..relatives {
        let (travel, arm) = (150 + number % 7, 110 + number % 5);
        let _ = write!(
            text,
            "\nsystem van_{number} from van {{\n    pedal {{ travel = {travel} mm }}\n    fork {{ slave_arm = {arm} mm }}\n}}\n"
        );
    }
    text
}

/// A van, with a kit of 2,000 combinations with tolerances below it, and a position for typing above both.
pub fn beside_a_kit() -> (String, (u32, u32)) {
    let typed = "    pedal { travel = 150";
    let mut text = format!(
        "system van_low from van {{\n{typed} mm }}\n}}\n\n{}",
        base(0)
    );
    let mut choices = String::new();
    for (block, count, least, stroke) in [("master", 40, 15.0, 36), ("slave", 50, 18.0, 40)] {
        let names = (0..count)
            .map(|i| format!("{block}_{i}"))
            .collect::<Vec<_>>();
        for (i, name) in names.iter().enumerate() {
            let bore = least + 0.2 * i as f64;
            let _ = writeln!(
                text,
                "part {block} {name} {{ bore = {bore:.1} mm ± 0.02 mm  stroke = {stroke} mm }}"
            );
        }
        let _ = writeln!(choices, "    choose {block} {}", names.join(", "));
    }
    let _ = write!(text, "system kit from van {{\n{choices}}}\n");
    (text, (1, typed.len() as u32))
}

/// The position for typing in a long spec: after the digits of its last travel.
pub fn typed_at(text: &str) -> (u32, u32) {
    let found = text
        .lines()
        .enumerate()
        .filter_map(|(line, text)| Some((line, text.find("travel = ")?)));
    let (line, column) = found.last().expect("a travel");
    (line as u32, (column + "travel = ".len()) as u32 + 3)
}

/// Writes specs `0..count` into a folder.
pub fn write_folder(folder: &Path, count: usize) {
    std::fs::create_dir_all(folder).expect("a folder");
    for number in 0..count {
        let name = format!("van_{number:05}.clutch");
        std::fs::write(folder.join(name), spec(number)).expect("a file");
    }
}

/// Writes specs `0..count` with one finding each into a folder. Into another it writes as many Python modules, each
/// as long as its spec and with an unused import.
pub fn write_found(specs: &Path, modules: &Path, count: usize) {
    for folder in [specs, modules] {
        std::fs::create_dir_all(folder).expect("a folder");
    }
    for number in 0..count {
        let own = format!(
            "system van_low from van {{\n    require pedal_effort <= {} N",
            90 + number % 7
        );
        let text = spec(number).replace("system van_low from van {", &own);
        let mut module = format!("\"\"\"Van {number}: its levers.\"\"\"\n\nimport os\n");
        let mut lever = 0;
        while module.len() < text.len() {
            let _ = write!(
                module,
                "\n\ndef lever_{lever}(force, arm={}.5, other=68.0):\n    \"\"\"The force at the other end of lever {lever}.\"\"\"\n    if other <= 0:\n        raise ValueError(\"no arm\")\n    return force * arm / other\n",
                100 + (number + lever) % 30
            );
            lever += 1;
        }
        let name = format!("van_{number:05}");
        std::fs::write(specs.join(format!("{name}.clutch")), text).expect("a file");
        std::fs::write(modules.join(format!("{name}.py")), module).expect("a file");
    }
}

fn base(number: usize) -> String {
    let pad_arm = 298 + number % 7;
    let length = 800 + number % 400;
    format!(
        r#"# Van {number}: a five-speed of a larger van behind its old engine.
system van "Van {number}: outside slave" {{
    pedal {{
        pad_arm      = {pad_arm} mm
        rod_arm      = 50 mm
        travel       = 150 mm ± 2 mm
        free_play    = 6 mm
        efficiency   = 95 %
        return_force = 10 N
    }}
    master {{
        bore            = 19.05 mm
        stroke          = 36 mm
        port_travel     = 1 mm
        mount_stiffness = 900 N/mm
        efficiency      = 95 %
        seals           = epdm
    }}
    line hard {{ bore = 3.2 mm  length = {length} mm  wall = 0.75 mm  modulus = 205 GPa  poisson = 0.3 }}
    line flex {{ bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }}
    slave {{
        bore           = 22.2 mm
        stroke         = 40 mm
        rest_extension = 12 mm
        efficiency     = 95 %
        moves          = rearward
        seals          = epdm
    }}
    fluid {{ grade = dot4  bulk_modulus = 1.6 GPa }}
    fork {{
        slave_arm   = 112 mm
        bearing_arm = 68 mm
        pivot       = between
        stiffness   = 1200 N/mm
        efficiency  = 95 %
    }}
    bearing {{ free_play = 0 mm  max_travel = 16 mm }}
    cover {{
        action         = push
        adjusts        = none
        release_travel = 7.2 mm to 10.8 mm
        finger_ratio   = 3.4
        clamp_load     = 5700 N
        release_load   = curve {{
            0 mm: 150 N,
            2 mm: 900 N,
            5 mm: 1500 N,
            8 mm: 1400 N,
            11 mm: 1300 N,
        }}
    }}
    disc {{ outer = 228 mm  inner = 150 mm  friction = 0.3  wear = 1.6 mm  cushion = 0.8 mm  clearance = 0.3 mm  faces = 2 }}
    engine {{ torque = 210 N*m  service_factor = 1.5 }}
    require pedal_effort <= 160 N  "most of our drivers are happy with this"
}}
"#
    )
}

/// A spec with 16 tolerances.
pub fn with_tolerances() -> String {
    let loose = [
        ("pad_arm      = 298 mm", "pad_arm = 298 mm ± 1 mm"),
        ("rod_arm      = 50 mm", "rod_arm = 50 mm ± 0.5 mm"),
        ("free_play    = 6 mm", "free_play = 6 mm ± 1 mm"),
        ("return_force = 10 N", "return_force = 10 N ± 2 N"),
        ("bore            = 19.05 mm", "bore = 19.05 mm to 19.12 mm"),
        ("port_travel     = 1 mm", "port_travel = 1 mm ± 0.3 mm"),
        (
            "mount_stiffness = 900 N/mm",
            "mount_stiffness = 900 N/mm ± 10 %",
        ),
        ("length = 350 mm", "length = 350 mm ± 5 %"),
        (
            "expansion = 0.33 cc/ft / 1000 psi",
            "expansion = 0.33 cc/ft / 1000 psi ± 10 %",
        ),
        ("bore           = 22.2 mm", "bore = 22.2 mm to 22.28 mm"),
        ("rest_extension = 12 mm", "rest_extension = 12 mm ± 1 mm"),
        ("bulk_modulus = 1.6 GPa", "bulk_modulus = 1.6 GPa ± 10 %"),
        ("slave_arm   = 112 mm", "slave_arm = 112 mm ± 1 %"),
        ("bearing_arm = 68 mm", "bearing_arm = 68 mm ± 1 %"),
        ("stiffness   = 1200 N/mm", "stiffness = 1200 N/mm ± 10 %"),
    ];
    loose.iter().fold(base(0), |text, (tight, loose)| {
        assert!(text.contains(tight), "{tight}");
        text.replace(tight, loose)
    })
}

/// What stands in a part of a number.
type Body = fn(usize) -> String;

/// A system with 1,000,000 combinations.
pub fn million() -> String {
    let mut text = String::new();
    let mut choices = String::new();
    let blocks: [(&str, usize, Body); 4] = [
        ("pedal", 10, |i| {
            format!("ratio = {}  travel = 150 mm", 5.2 + 0.1 * i as f64)
        }),
        ("fork", 10, |i| {
            format!(
                "slave_arm = {} mm  bearing_arm = 68 mm  stiffness = 1200 N/mm",
                100 + 2 * i
            )
        }),
        ("master", 100, |i| {
            format!("bore = {} mm  stroke = 36 mm", 15.0 + 0.1 * i as f64)
        }),
        ("slave", 100, |i| {
            format!("bore = {} mm  stroke = 40 mm", 18.0 + 0.1 * i as f64)
        }),
    ];
    for (block, count, body) in blocks {
        let names = (0..count)
            .map(|i| format!("{block}_{i}"))
            .collect::<Vec<_>>();
        for (i, name) in names.iter().enumerate() {
            let _ = writeln!(text, "part {block} {name} {{ {} }}", body(i));
        }
        let _ = writeln!(choices, "    choose {block} {}", names.join(", "));
    }
    text + &format!(
        "system kit {{\n{choices}    \
            line hard {{ bore = 3.2 mm  length = 900 mm  wall = 0.7 mm }}\n    \
            line flex {{ bore = 1/8 in  length = 350 mm  expansion = 0.33 cc/ft / 1000 psi }}\n    \
            fluid {{ grade = dot4  bulk_modulus = 1.6 GPa }}\n    \
            cover {{\n        \
                release_travel = 7 mm to 11 mm\n        \
                release_load   = curve {{ 0 mm: 150 N, 2 mm: 900 N, 5 mm: 1500 N, 8 mm: 1400 N, 11 mm: 1300 N }}\n    \
            }}\n}}\n"
    )
}

/// A priced kit of 1,080 combinations, in 330 of which a port, a bolt or a ball does not fit, and a system with its
/// first parts.
pub fn shop_kit() -> [String; 2] {
    let blocks: [(&str, usize, Body); 4] = [
        ("master", 6, |i| {
            let thread = if i == 5 { "7/16-24" } else { "3/8-24" };
            let bore = 19.05 + 0.05 * i as f64;
            format!("bore = {bore} mm  stroke = 36 mm  outlet = \"{thread} inverted flare\"")
        }),
        ("slave", 6, |i| {
            let (spacing, ball) = if i == 5 { (92, 14) } else { (60, 12) };
            let bore = 22.2 + 0.3 * i as f64;
            format!(
                "bore = {bore} mm  stroke = 32 mm  inlet = \"3/8-24 inverted flare\"  \
                 bolt_spacing = {spacing} mm  rod_ball = {ball} mm"
            )
        }),
        ("bearing", 5, |i| {
            format!("free_play = {} mm  bore = 38.1 mm", 0.1 * i as f64)
        }),
        ("cover", 6, |i| {
            let load = 1200 + 20 * i;
            format!("release_travel = 7.2 mm to 10.7 mm  release_load = {load} N")
        }),
    ];
    let (mut parts, mut choices, mut firsts) = (String::new(), String::new(), String::new());
    for (block, count, body) in blocks {
        let names: Vec<String> = (0..count).map(|i| format!("{block}_{i}")).collect();
        for (i, name) in names.iter().enumerate() {
            let price = 40 + i;
            let _ = writeln!(
                parts,
                "part {block} {name} {{ {}  price = {price}.50 USD }}",
                body(i)
            );
        }
        let _ = writeln!(choices, "    choose {block} {}", names.join(", "));
        let _ = writeln!(firsts, "    {block} {}", names[0]);
    }
    let port = "\"3/8-24 inverted flare\"";
    [choices, firsts].map(|parts_taken| {
        format!(
            "{parts}\nsystem kit {{\n{parts_taken}    \
                pedal {{ pad_arm = 300 mm  rod_arm = 50 mm  travel = 150 mm  free_play = 6 mm }}\n    \
                line hard {{ bore = 3.2 mm  length = 900 mm  wall = 0.75 mm  inlet = {port}  outlet = {port} }}\n    \
                bracket {{ slots = 50 mm to 75 mm }}\n    \
                fork {{ slave_arm = 112 mm  bearing_arm = 68 mm  seat = 12.2 mm }}\n    \
                gearbox {{ guide = 38 mm }}\n}}\n"
        )
    })
}
