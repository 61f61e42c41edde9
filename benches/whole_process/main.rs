//! The whole program beside comparable programs in one run, as ratios: `cargo bench --bench whole_process`.
//!
//! Times are medians of runs that alternate, so that other work on the machine affects both sides. The table says
//! what each row is compared with.

#[path = "../common/mod.rs"]
mod common;
mod lsp_echo;
mod server;
mod specs;
mod table;
mod usage;

use bitepoint::solve::{Tolerances, work_out};
use common::last;
use server::{Server, address};
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};
use table::{Row, Table};

const BITEPOINT: &str = env!("CARGO_BIN_EXE_bitepoint");
const PROJECT: &str = env!("CARGO_MANIFEST_DIR");
const SPECS: usize = 10_000;

fn main() {
    // The peers are this same program, told to be one of them.
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    match arguments.iter().map(String::as_str).collect::<Vec<_>>()[..] {
        ["echo"] => return server::echo(),
        ["lsp-echo"] => return lsp_echo::serve(),
        ["read", folder] => return read(Path::new(folder)),
        _ => {}
    }
    let wanted = |name: &str| {
        let mut names = arguments.iter().filter(|a| !a.starts_with('-')).peekable();
        names.peek().is_none() || names.any(|wanted| name.contains(wanted.as_str()))
    };
    let place = Place::new();
    let mut table = Table::default();
    for (name, measure) in MEASURES {
        if wanted(name) {
            eprintln!("measuring: {name}");
            measure(&place, &mut table);
        }
    }
    print!("{table}");
}

type Measure = fn(&Place, &mut Table);

const MEASURES: [(&str, Measure); 11] = [
    ("keystroke", keystrokes),
    ("growth", growth),
    ("first", first),
    ("kit", kits),
    ("workspace", workspaces),
    ("check", check),
    ("findings", findings),
    ("mechanics", mechanics),
    ("combinations", combinations),
    ("start", start),
    ("memory", memory),
];

/// Where the specs and the peers are.
struct Place {
    folder: tempfile::TempDir,
}

impl Place {
    fn new() -> Self {
        Self {
            folder: tempfile::tempdir().expect("a folder"),
        }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// A folder of generated specs.
    fn specs(&self, count: usize) -> PathBuf {
        let folder = self.path(&format!("vans_{count}"));
        if !folder.exists() {
            specs::write_folder(&folder, count);
        }
        folder
    }
}

fn peer(role: &str) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this program"));
    command.arg(role);
    command
}

fn serve() -> Command {
    let mut command = Command::new(BITEPOINT);
    command.arg("serve");
    command
}

/// The time from a key to the diagnostics, for specs of several lengths.
fn keystrokes(place: &Place, table: &mut Table) {
    for lines in [100, 1_000, 10_000] {
        let text = specs::long_spec(lines);
        let folder = place.specs(1);
        let at = specs::typed_at(&text);
        let uri = address(&folder.join("typed.clutch"));
        let commands = [
            (serve(), false),
            (peer("lsp-echo"), false),
            (peer("echo"), true),
        ];
        let mut servers = commands.map(|(mut command, echoes)| {
            let mut server = Server::start(&mut command, echoes);
            server.initialize(&folder);
            server.open(&uri, &text);
            server.diagnosed(0);
            server
        });
        let keys = if lines < 10_000 { 400 } else { 20 };
        let [ours, echo, bare] = turns(keys, &mut servers, |server, version| {
            server.key(&uri, version as i32 + 1, at)
        });
        let what = format!("a key to its diagnostics, {lines} lines");
        let wanted = |target| if lines == 100 { target } else { "" };
        let nothing = Row::new(&what, ours, "a server that looks at nothing", echo);
        table.row(nothing.target(wanted("2")));
        let frames = Row::new(&what, ours, "frames given back as they came", bare);
        table.row(frames.target(wanted("3")));
        let work = ours.saturating_sub(echo);
        let target = if lines == 10_000 { "5 ms" } else { "" };
        table.time(&format!("work on a key, {lines} lines"), work, target);
    }
}

/// The time from a key to the diagnostics in a long spec, against that in a short one.
fn growth(place: &Place, table: &mut Table) {
    let folder = place.specs(1);
    let uri = address(&folder.join("typed.clutch"));
    let mut both = [100, 10_000].map(|lines| {
        let text = specs::long_spec(lines);
        let mut server = Server::start(&mut serve(), false);
        server.initialize(&folder);
        server.open(&uri, &text);
        server.diagnosed(0);
        (server, specs::typed_at(&text))
    });
    let [short, long] = turns(200, &mut both, |(server, at), version| {
        server.key(&uri, version as i32 + 1, *at)
    });
    let what = "a key to its diagnostics, 10000 lines";
    table.row(Row::new(what, long, "the same in 100 lines", short).target("2"));
}

/// The time from opening a long spec to its first diagnostics.
fn first(place: &Place, table: &mut Table) {
    let text = specs::long_spec(10_000);
    let folder = place.specs(1);
    let uri = address(&folder.join("typed.clutch"));
    let took = median((0..9).map(|_| {
        let mut server = Server::start(&mut serve(), false);
        server.initialize(&folder);
        let began = Instant::now();
        server.open(&uri, &text);
        server.diagnosed(0);
        began.elapsed()
    }));
    table.time("first diagnostics of 10000 lines", took, "40 ms");
}

/// The time from a key to the diagnostics beside a kit, whose places move with each key.
fn kits(place: &Place, table: &mut Table) {
    let (text, at) = specs::beside_a_kit();
    let folder = place.specs(1);
    let uri = address(&folder.join("typed.clutch"));
    let mut server = Server::start(&mut serve(), false);
    server.initialize(&folder);
    server.open(&uri, &text);
    server.diagnosed(0);
    let [took] = turns(200, &mut [server], |server, version| {
        server.key(&uri, version as i32 + 1, at)
    });
    let what = "a key beside a kit of 2,000 combinations with tolerances, text grows";
    table.time(what, took, "1 ms");
}

/// The time from a key to the diagnostics in workspaces of several sizes.
fn workspaces(place: &Place, table: &mut Table) {
    let text = specs::long_spec(100);
    let at = specs::typed_at(&text);
    let start = |count: usize| {
        let folder = place.specs(count);
        let uri = address(&folder.join("typed.clutch"));
        let mut server = Server::start(&mut serve(), false);
        server.initialize(&folder);
        server.open(&uri, &text);
        server.diagnosed(0);
        (server, uri)
    };
    let mut servers = [1, 100, SPECS].map(start);
    let [one, hundred, many] = turns(200, &mut servers, |(server, uri), version| {
        server.key(uri, version as i32 + 1, at)
    });
    let alone = "the same in a workspace of one file";
    for (count, took) in [(100, hundred), (SPECS, many)] {
        let what = format!("a key in a workspace of {count} files");
        table.row(Row::new(&what, took, alone, one).target("1"));
    }
}

/// A check of many specs, against reading them and against a script.
fn check(place: &Place, table: &mut Table) {
    let folder = place.specs(SPECS);
    let ours = || run(Command::new(BITEPOINT).arg("check").arg(&folder));
    let theirs = || run(peer("read").arg(&folder));
    let mut both: [&dyn Fn() -> Duration; 2] = [&ours, &theirs];
    let [ours, reading] = turns(5, &mut both, |run, _| run());
    let what = format!("check of {SPECS} specs of 60 lines");
    table.row(Row::new(&what, ours, "reading their bytes", reading).target("30"));

    let python = Path::new(PROJECT).join("target/venv/bin/python");
    let sums = Path::new(PROJECT).join("benches/whole_process/peers/sums.py");
    let sample = (0..20).map(|i| folder.join(format!("van_{:05}.clutch", i * 499)));
    let output = Command::new(python).arg(sums).args(sample).output();
    let said = output.map(|output| String::from_utf8_lossy(&output.stdout).into_owned());
    let script = said
        .ok()
        .and_then(|said| said.split_whitespace().next()?.parse().ok());
    let each = ours / SPECS as u32;
    match script {
        Some(script) => {
            let script = Duration::from_secs_f64(script);
            let row = Row::new(
                "one spec of those",
                each,
                "a script with pint and scipy",
                script,
            );
            table.row(row.target("1/300"));
        }
        None => table.missing(
            "one spec of those",
            "target/venv with tests/oracles/requirements.txt, for the script with pint and scipy",
        ),
    }
}

/// Processor time and memory of a check of many specs, each with a finding. It is compared with a Python linter on as
/// many bytes, each file with a finding.
fn findings(place: &Place, table: &mut Table) {
    let (ours, theirs) = (place.path("found"), place.path("found_py"));
    specs::write_found(&ours, &theirs, SPECS);
    let mut check = Command::new(BITEPOINT);
    check.arg("check").arg(&ours);
    let mut lint = Command::new(Path::new(PROJECT).join("target/venv/bin/ruff"));
    lint.args(["check", "--isolated", "--no-cache"])
        .arg(&theirs);

    let what = format!("processor time of check, {SPECS} specs with a finding each");
    let peer = "ruff check of as many bytes of Python";
    if !Path::new(lint.get_program()).exists() {
        let needs = "target/venv with benches/whole_process/peers/requirements.txt, for ruff";
        table.missing(&what, needs);
        let took = usage::of(&mut check);
        table.time(&what, took.processor, "");
        return memory_row(table, took.memory);
    }
    let mut memory = None;
    let [our_time, their_time] = turns(5, &mut [&mut check, &mut lint], |command, _| {
        let took = usage::of(command);
        if command.get_program() == BITEPOINT {
            memory = memory.max(took.memory);
        }
        took.processor
    });
    table.row(Row::new(&what, our_time, peer, their_time).target("2"));
    memory_row(table, memory);
}

fn memory_row(table: &mut Table, peak: Option<u64>) {
    let what = "peak memory of that check";
    match peak {
        Some(bytes) => table.size(what, bytes, "40 MB"),
        None => table.missing(what, "Linux, to tell the memory of a process"),
    }
}

/// One curve, and one system with many tolerances.
fn mechanics(_: &Place, table: &mut Table) {
    let plain = last(&specs::spec(0));
    let loose = last(&specs::with_tolerances());
    let outcome = work_out(&plain).expect("it works");
    let wide = work_out(&loose).expect("it works");
    let one = || timed(100, || work_out(black_box(&plain)));
    let curve = || timed(100, || black_box(&outcome.chain).curve(256));
    let bands = || timed(1, || Tolerances::new(black_box(&loose), black_box(&wide)));
    let mut all: [&dyn Fn() -> Duration; 3] = [&one, &curve, &bands];
    let [one, curve, bands] = turns(50, &mut all, |measure, _| measure());
    table.time("one system worked out", one, "");
    let against = "one system worked out";
    table.row(Row::new("a curve of 256 points", curve, against, one).target("12 µs"));
    table.row(Row::new("tolerances of 16 inputs", bands, against, one).target("0.8 ms"));
}

/// A million combinations, against as many systems worked out one by one.
fn combinations(place: &Place, table: &mut Table) {
    let spec = place.path("million.clutch");
    std::fs::write(&spec, specs::million()).expect("a file");
    let ours = median((0..3).map(|_| run(Command::new(BITEPOINT).arg("check").arg(&spec))));
    table.time("check of 1,000,000 combinations", ours, "0.8 s");
    let [kit, one] = ["kit.clutch", "one.clutch"].map(|name| place.path(name));
    for (path, text) in [&kit, &one].into_iter().zip(specs::shop_kit()) {
        std::fs::write(path, text).expect("a file");
    }
    let check = |spec: &Path| run(Command::new(BITEPOINT).arg("check").arg(spec));
    let (of_kit, of_one) = (|| check(&kit), || check(&one));
    let mut both: [&dyn Fn() -> Duration; 2] = [&of_kit, &of_one];
    let [ours, theirs] = turns(20, &mut both, |run, _| run());
    let row = Row::new(
        "check of a priced kit of 1,080",
        ours,
        "one of its combinations",
        theirs,
    );
    table.row(row.target("0.2 s"));
}

/// The time to start and do nothing.
fn start(place: &Place, table: &mut Table) {
    let hello = place.path("hello");
    let source = Path::new(PROJECT).join("benches/whole_process/peers/hello.rs");
    let mut compiler = Command::new(std::env::var_os("RUSTC").unwrap_or("rustc".into()));
    let compiled = compiler
        .arg("-O")
        .arg(source)
        .arg("-o")
        .arg(&hello)
        .status();
    assert!(compiled.expect("a compiler").success());
    let spec = place.specs(1).join("van_00000.clutch");
    let version = || run(Command::new(BITEPOINT).arg("--version"));
    let check = || run(Command::new(BITEPOINT).arg("check").arg(&spec));
    let hello = || run(&mut Command::new(&hello));
    let mut all: [&dyn Fn() -> Duration; 3] = [&version, &check, &hello];
    let [version, check, hello] = turns(100, &mut all, |run, _| run());
    let against = "a program that says hello";
    table.row(Row::new("start, to say its version", version, against, hello).target("3"));
    table.row(Row::new("start, to check one spec", check, against, hello));
}

/// The memory of a server with many specs open.
fn memory(place: &Place, table: &mut Table) {
    let folder = place.specs(SPECS);
    let mut server = Server::start(&mut serve(), false);
    server.initialize(&folder);
    for number in 0..SPECS {
        let uri = address(&folder.join(format!("van_{number:05}.clutch")));
        server.open(&uri, &specs::spec(number));
        server.diagnosed(0);
    }
    match server.memory() {
        Some(bytes) => table.size(
            &format!("memory of a server with {SPECS} specs open"),
            bytes,
            "200 MB",
        ),
        None => table.missing(
            "memory of a server",
            "Linux, to tell the memory of a process",
        ),
    }
}

/// Reads the files of a folder and does nothing with them.
fn read(folder: &Path) {
    for entry in std::fs::read_dir(folder).expect("a folder") {
        black_box(std::fs::read(entry.expect("a file").path()).expect("a file"));
    }
}

/// How long a program runs; its output is discarded.
fn run(command: &mut Command) -> Duration {
    command.stdout(Stdio::null()).stderr(Stdio::null());
    let began = Instant::now();
    command.status().expect("it runs");
    began.elapsed()
}

/// How long something takes that is too short for the clock.
fn timed<T>(times: u32, mut work: impl FnMut() -> T) -> Duration {
    let began = Instant::now();
    for _ in 0..times {
        black_box(work());
    }
    began.elapsed() / times
}

/// Medians of several measurements that alternate.
fn turns<T, const N: usize>(
    rounds: usize,
    things: &mut [T; N],
    mut measure: impl FnMut(&mut T, usize) -> Duration,
) -> [Duration; N] {
    let mut took: [Vec<Duration>; N] = std::array::from_fn(|_| Vec::with_capacity(rounds));
    for round in 0..rounds {
        for (thing, took) in things.iter_mut().zip(&mut took) {
            took.push(measure(thing, round));
        }
    }
    took.map(median)
}

fn median(times: impl IntoIterator<Item = Duration>) -> Duration {
    let mut times: Vec<Duration> = times.into_iter().collect();
    times.sort();
    times[times.len() / 2]
}
