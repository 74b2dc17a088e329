//! Records that are hard to lay out, each with one thing at its limit or beyond.

use std::path::Path;

use wanderlead::job::{Job, Layout, Observation, text};

/// The longest text of several lines that a record may hold, in characters.
pub const PROSE: usize = 5_000;

/// A sample job by the name of its file.
pub fn sample(name: &str) -> Job {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("sample-jobs")
        .join(name);
    text::parse(name, &std::fs::read_to_string(path).unwrap()).unwrap_or_else(|e| panic!("{e}"))
}

/// Numbered words, so that a missing one shows, as many as fit the longest text.
pub fn prose(what: &str) -> String {
    let mut all = String::new();
    for n in 0.. {
        let word = format!("{what}{n:04} ");
        if all.chars().count() + word.chars().count() > PROSE {
            break;
        }
        all.push_str(&word);
    }
    all.trim_end().into()
}

/// A name of this many characters, without a place to break in its second half.
fn name(what: &str, length: usize) -> String {
    let half: String = format!("{what} with a long name ").repeat(20);
    let half: String = half.chars().take(length / 2).collect();
    let rest = "Mm".repeat(length);
    let all: String = half.chars().chain(rest.chars()).take(length).collect();
    all
}

/// So many circuits on boards of forty.
pub fn on_boards_of_forty(job: &mut Job, circuits: usize) {
    let first = circuits.min(40);
    widen(job, 0, first);
    let mut pattern = job.boards[0].clone();
    pattern
        .circuits
        .retain(|c| c.id.parse::<usize>().is_ok_and(|n| n > 2));
    let mut left = circuits - first;
    while left > 0 {
        let mut board = pattern.clone();
        board.id = format!("D{}", job.boards.len());
        board.name = format!("board {}", job.boards.len());
        board.circuits.truncate(left);
        while board.circuits.len() < left.min(40) {
            let mut more = board.circuits[0].clone();
            more.id = format!("{}", 100 + board.circuits.len());
            board.circuits.push(more);
        }
        left -= board.circuits.len();
        job.boards.push(board);
    }
    let count: usize = job.boards.iter().map(|b| b.circuits.len()).sum();
    assert_eq!(count, circuits);
}

/// Every circuit of a board once more under new ids, until it has `n`.
pub fn widen(job: &mut Job, board: usize, n: usize) {
    let board = &mut job.boards[board];
    let pattern = board.circuits.clone();
    for at in board.circuits.len()..n {
        // The first ways feed inverters and boards, of which there is one each.
        let mut circuit = pattern[2 + at % (pattern.len() - 2)].clone();
        circuit.id = format!("{}", at + 1);
        circuit.name = format!("fixed equipment of bay {at}, both sides of the door");
        board.circuits.push(circuit);
    }
}

/// 60 circuits on one board.
pub fn circuits() -> Job {
    let mut job = sample("mill-yard.ron");
    widen(&mut job, 0, 60);
    job
}

/// The longest texts a record may hold, in observations, remarks and descriptions.
pub fn remarks() -> Job {
    let mut job = sample("mill-yard.ron");
    job.extent = prose("extent");
    job.existing = prose("before");
    for n in ["a", "b"] {
        job.observations.push(Observation {
            text: prose(&format!("seen{n}")),
            by: "mk".into(),
            departure: n == "a",
            photos: vec!["P-17.jpg".into()],
        });
    }
    // One text without a single place to break.
    job.observations.push(Observation {
        text: (0..PROSE / 5).map(|n| format!("W{n:04}")).collect(),
        by: "mk".into(),
        departure: false,
        photos: Vec::new(),
    });
    for (n, circuit) in job.boards[0].circuits.iter_mut().enumerate().take(3) {
        circuit.remarks = prose(&format!("remark{n}x"));
    }
    job
}

/// 40 modules in two branches of micro-inverters, and 40 in two strings.
pub fn modules() -> [Job; 2] {
    let mut branches = sample("orchard-cottage.ron");
    for array in &mut branches.arrays {
        if let Layout::Branches(all) = &mut array.layout {
            all.truncate(2);
            for (b, branch) in all.iter_mut().enumerate() {
                let pattern = branch.units[0].clone();
                branch.units = vec![pattern; 20];
                for (n, unit) in branch.units.iter_mut().enumerate() {
                    unit.module = format!("EXM-2026-{b}-{n:05}");
                    unit.inverter = format!("EXI-2026-{b}-{n:05}");
                }
            }
        }
    }
    let mut strings = sample("harbour-row.ron");
    for array in &mut strings.arrays {
        if let Layout::Strings(all) = &mut array.layout {
            for (s, string) in all.iter_mut().enumerate() {
                string.modules = (0..20).map(|n| format!("EXM-2026-{s}-{n:05}")).collect();
            }
        }
    }
    [branches, strings]
}

/// Six boards, each fed from the one before.
pub fn boards() -> Job {
    let mut job = sample("mill-yard.ron");
    let pattern = job.boards.last().unwrap().clone();
    while job.boards.len() < 6 {
        let mut board = pattern.clone();
        let n = job.boards.len();
        board.id = format!("X{n}");
        board.name = format!("board of bay {n}");
        board.fed_from = format!("{}/2", job.boards.last().unwrap().id);
        job.boards.push(board);
    }
    job
}

/// Names of 200 characters, longer than a record may have, everywhere.
pub fn names() -> Job {
    let mut job = sample("mill-yard.ron");
    let long = |what: &str| name(what, 200);
    job.title = long("title");
    job.reference = long("reference");
    job.client.name = long("client");
    job.client.address = long("street");
    job.address = long("site");
    for p in &mut job.people {
        p.name = long(&format!("person {}", p.id));
        p.firm = long("firm");
    }
    for i in &mut job.instruments {
        i.kind = long("kind");
        i.make = long("maker");
        i.serial = long(&format!("serial {}", i.id));
    }
    for b in &mut job.bonds {
        b.to = long(&format!("bond {}", b.id));
    }
    job.supply.main_switch = long("switch");
    for b in &mut job.boards {
        b.name = long(&format!("board {}", b.id));
        b.location = long("cupboard");
        b.main_switch = long("disconnector");
        b.spd = long("arrester");
        for c in &mut b.circuits {
            c.name = long(&format!("circuit {}", c.id));
            c.remarks = long(&format!("remark {}", c.id));
            if let Some(cable) = &mut c.cable {
                cable.method = long("method");
            }
            if let Some(rcd) = &mut c.rcd {
                rcd.standard = long("standard");
                rcd.declaration = long("declared");
            }
        }
    }
    for a in &mut job.arrays {
        a.name = long("array");
        a.module.make = long("module");
        match &mut a.layout {
            Layout::Strings(all) => {
                for s in all {
                    s.name = long(&format!("string {}", s.id));
                    for m in &mut s.modules {
                        *m = long(m);
                    }
                }
            }
            Layout::Branches(all) => {
                for b in all {
                    b.name = long(&format!("branch {}", b.id));
                }
            }
        }
    }
    for i in &mut job.inverters {
        i.make = long("inverter");
        i.serial = long("number");
        i.ac_isolator = long("isolator");
        i.dc_isolator = long("disconnector");
    }
    job.grid.operator = long("operator");
    job.grid.meter_number = long("meter");
    job.grid.acceptance = long("acceptance");
    job
}

/// Names in alphabets that the font has or may have, and signs that it hasn't.
pub fn alphabets() -> Job {
    let mut job = sample("mill-yard.ron");
    job.title = "Павильон Щербина – Ωμέγα Ἀθῆναι – Nhà vườn Nguyễn Thị Hường".into();
    job.client.name = "Þórunn Ægisdóttir-Žižková & Αθηνά Παπαδοπούλου".into();
    job.client.address = "12 Đường Trần Hưng Đạo, Łódź; вул. Їжакевича 7".into();
    job.people[0].name = "Юлія Ґудзь 🔌 漢字".into();
    job.boards[0].name = "главный щит ⏚".into();
    job.boards[0].circuits[0].name = "ηλεκτρικός πίνακας, ряд 1 日本".into();
    job.boards[0].circuits[1].remarks = "đã kiểm tra; проверено; ελέγχθηκε 👷".into();
    job
}

/// All of them, with what each is.
pub fn all() -> Vec<(String, Job)> {
    let [branches, strings] = modules();
    [
        ("60 circuits", circuits()),
        ("remarks", remarks()),
        ("40 modules in branches", branches),
        ("40 modules in strings", strings),
        ("6 boards", boards()),
        ("long names", names()),
        ("alphabets", alphabets()),
    ]
    .map(|(name, job)| (name.to_string(), job))
    .into()
}
