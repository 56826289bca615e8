//! The command as a user meets it: in an empty folder, with right and wrong input.

mod desk;

use desk::{Desk, LEAF, code, errors, fixture};
use std::fs;

#[test]
fn a_drawing_becomes_a_list_beside_it() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let output = desk.run(&["sew", "leaf.svg"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    assert_eq!(desk.files(), ["leaf.stitches", "leaf.svg"]);
    assert!(String::from_utf8(output.stdout).unwrap().contains("stitches"));
}

#[test]
fn the_demo_needs_no_file() {
    let desk = Desk::new();
    let output = desk.run(&["sew", "--demo", "-o", "out/"]);
    assert!(code(&output) <= 1, "{}", errors(&output));
    let out = desk.path("out");
    for name in [
        "garden-patch.stitches",
        "garden-patch.png",
        "garden-patch.svg",
        "garden-patch.html",
        "garden-patch.report.txt",
        "garden-patch.worksheet.html",
    ] {
        assert!(fs::metadata(out.join(name)).unwrap().len() > 500, "{name}");
    }
}

#[test]
fn a_list_on_standard_output_stands_alone() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let output = desk.run(&["sew", "leaf.svg", "-o", "-"]);
    assert_eq!(code(&output), 0);
    let plan = laidwork_list::read(output.stdout.as_slice()).unwrap();
    assert!(plan.stitches() > 100);
    assert_eq!(desk.files(), ["leaf.svg"]);
}

#[test]
fn every_kind_is_written_and_lists_read_back() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let names = ["a.stitches", "a.csv", "a.json", "b.svg", "a.png", "a.html"];
    let mut args = vec!["sew", "leaf.svg"];
    for name in names {
        args.extend(["-o", name]);
    }
    assert_eq!(code(&desk.run(&args)), 0);
    for list in ["a.stitches", "a.csv", "a.json"] {
        let output = desk.run(&["check", list, "--json"]);
        assert_eq!(code(&output), 0, "{list}: {}", errors(&output));
        let report: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert!(report.is_object());
    }
    assert_eq!(&fs::read(desk.path("a.png")).unwrap()[1..4], b"PNG");
}

#[test]
fn a_check_that_fails_exits_with_1() {
    let desk = Desk::new();
    let list = "stitch-list 1\nunit mm\nthread 1 #e0a21b\npiece 1 thread 1 method manual name long\npass top\n0.00 0.00\n20.00 0.00\nend 2\n";
    desk.put("long.stitches", list);
    assert_eq!(code(&desk.run(&["check", "long.stitches"])), 1);
}

#[test]
fn pictures_are_drawn_of_a_list() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.run(&["sew", "leaf.svg"]);
    let output = desk.run(&["view", "leaf.stitches", "-o", "leaf.png", "-o", "leaf.html", "--fabric", "#203040"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    assert!(desk.path("leaf.png").exists() && desk.path("leaf.html").exists());
}

#[test]
fn threads_of_a_chart_are_offered() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    let output = desk.run(&["threads", "leaf.svg", "--chart", &fixture("charts/garden.csv"), "--fabric", "#efe6d0"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.starts_with("#4f8a3c  leaf  ") && text.contains("contrast"), "{text}");
    assert!(text.contains("Threads to lay out"), "{text}");
    let recipe =
        ["-r", &fixture("recipes/garden-patch.toml"), "--chart", &fixture("charts/garden.csv")].map(str::to_owned);
    let mut args =
        vec!["threads".to_owned(), fixture("drawings/garden-patch.svg"), "--at-most=4".into(), "--json".into()];
    args.extend(recipe.into_iter().chain(["-o".into(), "card.html".into()]));
    let output = desk.run(&args.iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let table: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(table["threads"].as_array().unwrap().len(), 4);
    assert_eq!(table["colors"].as_array().unwrap().len(), 8);
    assert!(fs::read_to_string(desk.path("card.html")).unwrap().contains("taken"));
}

#[test]
fn wrong_input_names_the_place_and_leaves_no_file() {
    let desk = Desk::new();
    desk.put("cut.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\">\n<path d=");
    desk.put("bad.toml", "[[rule]]\nspacng = 0.3\n");
    desk.put("leaf.svg", LEAF);
    desk.put("cut.stitches", "stitch-list 1\nunit mm\n");
    desk.put("plain.toml", "[design]\n");
    desk.put("chart.csv", "code,name,colour\na,Ash,#707070\n");
    for (args, wanted) in [
        (vec!["sew", "nothing.svg"], "nothing.svg"),
        (vec!["sew", "cut.svg"], "cut.svg"),
        (vec!["sew", "leaf.svg", "-r", "bad.toml"], "bad.toml:2"),
        (vec!["sew", "leaf.svg", "-o", "leaf.exe"], "leaf.exe"),
        (vec!["sew", "leaf.svg", "-o", "no/such/folder/leaf.stitches"], "no/such/folder"),
        (vec!["sew", "leaf.svg", "--width", "-3"], "--width"),
        (vec!["check", "cut.stitches"], "cut.stitches"),
        (vec!["view", "cut.stitches", "-o", "x.txt"], "x.txt"),
        (vec!["sew", "leaf.svg", "-o", "x.colourways.png"], "colourway"),
        (vec!["tune", "leaf.svg"], "--recipe"),
        (vec!["tune", "leaf.svg", "-r", "-"], "standard input"),
        (vec!["tune", "leaf.svg", "-r", "bad.toml"], "bad.toml:2"),
        (vec!["sew", "leaf.svg", "-r", "plain.toml", "--colourway", "Navy"], "no colourway \"Navy\""),
        (vec!["threads", "leaf.svg", "--chart", "chart.csv", "--at-most", "0"], "--at-most"),
        (vec!["threads", "leaf.svg", "--chart", "chart.csv", "-o", "card.png"], "card.png"),
    ] {
        let output = desk.run(&args);
        assert_eq!(code(&output), 2, "{args:?}: {}", errors(&output));
        assert!(errors(&output).contains(wanted), "{args:?}: {}", errors(&output));
    }
    assert_eq!(desk.files(), ["bad.toml", "chart.csv", "cut.stitches", "cut.svg", "leaf.svg", "plain.toml"]);
}

#[test]
fn a_drawing_with_nothing_to_sew_writes_nothing() {
    let desk = Desk::new();
    desk.put("empty.svg", r#"<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9"/>"#);
    let output = desk.run(&["sew", "empty.svg"]);
    assert_eq!(code(&output), 2);
    assert_eq!(desk.files(), ["empty.svg"]);
}

#[test]
fn the_same_drawing_gives_the_same_bytes() {
    let desk = Desk::new();
    for name in ["one.stitches", "two.stitches"] {
        assert!(code(&desk.run(&["sew", "--demo", "-o", name])) <= 1);
    }
    assert_eq!(fs::read(desk.path("one.stitches")).unwrap(), fs::read(desk.path("two.stitches")).unwrap());
}

#[test]
fn a_starter_recipe_changes_nothing() {
    let desk = Desk::new();
    let patch = fixture("drawings/garden-patch.svg");
    assert_eq!(code(&desk.run(&["recipe", &patch, "-o", "patch.toml"])), 0);
    assert!(fs::read_to_string(desk.path("patch.toml")).unwrap().contains("petal"));
    let plain = desk.run(&["sew", &patch, "-o", "plain.stitches"]);
    let started = desk.run(&["sew", &patch, "-r", "patch.toml", "-o", "started.stitches"]);
    assert!(code(&plain) <= 1 && code(&started) <= 1, "{}", errors(&started));
    assert_eq!(errors(&started), errors(&plain));
    assert_eq!(fs::read(desk.path("plain.stitches")).unwrap(), fs::read(desk.path("started.stitches")).unwrap());
}

#[test]
fn schemas_are_published() {
    let desk = Desk::new();
    for args in [["recipe", "--schema"], ["check", "--schema"], ["threads", "--schema"]] {
        let schema: serde_json::Value = serde_json::from_slice(&desk.run(&args).stdout).unwrap();
        assert!(schema["$schema"].as_str().unwrap().contains("2020-12"), "{args:?}");
    }
}

#[test]
fn a_letter_is_swapped() {
    let desk = Desk::new();
    desk.put(
        "tag.svg",
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="30mm" height="30mm" viewBox="0 0 30 30">
        <text id="initial" x="5" y="26" font-size="28" font-family="Inconsolata">A</text></svg>"#,
    );
    let font = fixture("fonts");
    let sew = |text: &str, out: &str| {
        let output = desk.run(&["sew", "tag.svg", "--font", &font, "--text", text, "-o", out]);
        assert!(code(&output) <= 1, "{}", errors(&output));
        fs::read_to_string(desk.path(out)).unwrap()
    };
    let (a, same, r) = (sew("initial=A", "a.stitches"), sew("initial=A", "b.stitches"), sew("initial=R", "r.stitches"));
    assert_eq!(a, same);
    assert_ne!(a, r);
    let wrong = desk.run(&["sew", "tag.svg", "--font", &font, "--text", "monogram=R"]);
    assert_eq!(code(&wrong), 2);
    assert!(errors(&wrong).contains("initial"), "{}", errors(&wrong));
}

#[test]
fn a_letter_that_is_a_path_is_swapped() {
    let desk = Desk::new();
    let font = fixture("fonts");
    let sew = |more: &[&str], out: &str| {
        let output = desk.run(&[&["sew", "--demo", "-o", out], more].concat());
        assert!(code(&output) <= 1, "{}", errors(&output));
        fs::read_to_string(desk.path(out)).unwrap()
    };
    let drawn = sew(&[], "drawn.stitches");
    let swapped = sew(&["--text", "initial=K", "--font", &font], "k.stitches");
    let of_initial = |list: &str| list.lines().filter(|line| line.ends_with("name initial")).count();
    assert_eq!((of_initial(&drawn), of_initial(&swapped)), (1, 1));
    assert_ne!(drawn, swapped);
    let bare = desk.run(&["sew", "--demo", "--text", "initial=K", "-o", "none.stitches"]);
    assert_eq!(code(&bare), 2);
    assert!(errors(&bare).contains("--font") && !desk.path("none.stitches").exists(), "{}", errors(&bare));
}

#[test]
fn drawings_are_placed_in_one_hoop() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.put(
        "pair.toml",
        "[design]\nhoop = [60.0, 40.0]\n[[place]]\ndrawing = \"leaf.svg\"\nname = \"one\"\nacross = \"left\"\n\
        [[place]]\ndrawing = \"leaf.svg\"\nname = \"two\"\nacross = \"right\"\n",
    );
    let output = desk.run(&["sew", "-r", "pair.toml"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let plan = laidwork_list::read(fs::read(desk.path("pair.stitches")).unwrap().as_slice()).unwrap();
    let names: Vec<_> = plan.pieces.iter().map(|piece| piece.name.as_str()).collect();
    assert_eq!(names.len(), 2);
    assert!(names.contains(&"one/leaf") && names.contains(&"two/leaf"));
    let bounds = plan.bounds().unwrap();
    assert!((bounds.width() - 56.4).abs() < 1.0, "{bounds:?}");
}

const WAYS: &str = r##"
[design]
fabric = "#efe6d0"
[[colourway]]
name = "Meadow"
fabric = "#4f8a3d"
[[colourway]]
name = "Night"
fabric = "#16202e"
[[colourway.swap]]
match = "leaf"
thread = "#f4f1e4"
"##;

#[test]
fn colourways_lie_side_by_side() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.put("leaf.toml", WAYS);
    let output = desk.run(&["sew", "leaf.svg", "-r", "leaf.toml", "-o", "out/"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let warned = errors(&output);
    assert!(warned.contains("Meadow: leaf: #4f8a3c would sink into the cloth #4f8a3d"), "{warned}");
    assert_eq!(warned.matches("sink").count(), 1, "{warned}");
    assert!(!warned.contains('\r'), "progress is for terminals alone: {warned:?}");
    assert_eq!(&fs::read(desk.path("out/leaf.colourways.png")).unwrap()[1..4], b"PNG");
    let page = fs::read_to_string(desk.path("out/leaf.colourways.html")).unwrap();
    assert_eq!(page.matches("<img ").count(), 2);
    let fabrics = ["--fabric", "#efe6d0", "--fabric", "#16202e", "--fabric", "#e2725b"];
    let mut args = vec!["view", "out/leaf.stitches", "-o", "cloths.colourways.html"];
    args.extend(fabrics);
    assert_eq!(code(&desk.run(&args)), 0);
    assert_eq!(fs::read_to_string(desk.path("cloths.colourways.html")).unwrap().matches("<img ").count(), 3);
}

#[test]
fn one_colourway_is_sewn() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.put("leaf.toml", WAYS);
    let output = desk.run(&["sew", "leaf.svg", "-r", "leaf.toml", "--colourway", "night", "-o", "out/"]);
    assert_eq!(code(&output), 0, "{}", errors(&output));
    let list = fs::read_to_string(desk.path("out/leaf-night.stitches")).unwrap();
    assert!(list.contains("#f4f1e4") && !list.contains("#4f8a3c"), "{list}");
    assert!(!desk.path("out/leaf-night.colourways.png").exists());
}

/// A command that is still running, stopped when the test ends.
struct Running(std::process::Child);

impl Drop for Running {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn tune_writes_into_the_recipe_and_over_nobody_elses_work() {
    use std::io::{BufRead, BufReader, Read, Write};
    use std::process::Stdio;
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.put("leaf.toml", "# Mine.\n[design]\nmaterial = \"canvas\"   # the apron\n");
    let mut command = desk.command(&["tune", "leaf.svg", "-r", "leaf.toml"]);
    let mut running = Running(command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap());
    let mut url = String::new();
    BufReader::new(running.0.stdout.take().unwrap()).read_line(&mut url).unwrap();
    let (host, token) = url.trim().strip_prefix("http://").unwrap().trim_end_matches('/').split_once('/').unwrap();
    let write = |material: &str| {
        let body = format!(r#"{{"changes":[{{"shape":null,"key":"material","value":"{material}"}}]}}"#);
        let mut stream = std::net::TcpStream::connect(host).unwrap();
        write!(
            stream,
            "POST /{token}/write HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nContent-Length: {}\r\n\
             Connection: close\r\n\r\n{body}",
            body.len()
        )
        .unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    };
    assert!(write("jersey").starts_with("HTTP/1.1 200"));
    let text = fs::read_to_string(desk.path("leaf.toml")).unwrap();
    assert_eq!(text, "# Mine.\n[design]\nmaterial = \"jersey\"   # the apron\n");
    desk.put("leaf.toml", "# Somebody else's.\n");
    let refused = write("towel");
    assert!(refused.starts_with("HTTP/1.1 422") && refused.contains("meanwhile"), "{refused}");
    assert_eq!(fs::read_to_string(desk.path("leaf.toml")).unwrap(), "# Somebody else's.\n");
    assert_eq!(desk.files(), ["leaf.svg", "leaf.toml"]);
}

#[test]
fn a_list_given_as_a_drawing_is_told_from_one() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    desk.run(&["sew", "leaf.svg", "-o", "leaf.stitches"]);
    let output = desk.run(&["sew", "leaf.stitches", "-o", "again.stitches"]);
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("`laidwork check` tells its figures"), "{}", errors(&output));
}

#[test]
fn shells_complete_every_subcommand() {
    let desk = Desk::new();
    let help = String::from_utf8(desk.run(&["--help"]).stdout).unwrap();
    let commands = help.lines().skip_while(|line| *line != "Commands:").skip(1).take_while(|line| !line.is_empty());
    // Lines that are further in go on with what a command does.
    let named = commands.filter(|line| line.starts_with("  ") && !line.starts_with("   "));
    let commands: Vec<&str> = named.filter_map(|line| line.split_whitespace().next()).collect();
    assert!(commands.len() > 6, "{commands:?}");
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = desk.run(&["completions", shell]);
        let script = String::from_utf8(output.stdout.clone()).unwrap();
        assert_eq!(code(&output), 0);
        let missing: Vec<_> = commands.iter().filter(|command| !script.contains(**command)).collect();
        assert!(missing.is_empty(), "{shell}: {missing:?}");
    }
    assert_eq!(code(&desk.run(&["completions", "no-shell"])), 2);
}

#[test]
fn manual_pages_tell_every_option() {
    let desk = Desk::new();
    assert!(String::from_utf8(desk.run(&["man"]).stdout).unwrap().contains(".TH laidwork 1"));
    assert_eq!(code(&desk.run(&["man", "-o", "pages"])), 0);
    let page = fs::read_to_string(desk.path("pages/laidwork-many.1")).unwrap();
    for option in ["table", "afresh", "write"] {
        assert!(page.contains(&format!("\\-\\-{option}")), "{option}");
    }
    assert!(desk.path("pages/laidwork-sew.1").exists() && desk.path("pages/laidwork.1").exists());
}

#[test]
fn nothing_is_written_over_what_is_read() {
    let desk = Desk::new();
    desk.put("leaf.svg", LEAF);
    for command in ["sew", "recipe"] {
        let output = desk.run(&[command, "leaf.svg", "-o", "./leaf.svg"]);
        assert_eq!(code(&output), 2, "{command}");
        assert!(errors(&output).contains("choose another name"), "{}", errors(&output));
    }
    assert_eq!(fs::read_to_string(desk.path("leaf.svg")).unwrap(), LEAF);
}

/// The colours of the threads of a list.
fn colours(list: &[u8]) -> Vec<String> {
    laidwork_list::read(list).unwrap().threads.iter().map(|thread| thread.color.to_string()).collect()
}

#[test]
fn a_paint_that_is_elsewhere_leaves_its_place_to_the_colour_behind_it() {
    let desk = Desk::new();
    let leaf = |x: usize, paint: &str| format!(r#"<rect x="{x}" width="9" height="9" {paint}/>"#);
    let paints = [
        "fill=\"url(paint.svg#p) #0000ff\"",
        "fill=\"url(#gone) #00aa00\"",
        "style=\"fill:url('paint.svg#p') rgb(255, 136, 0)\"",
        "fill=\"none\" stroke=\"url(paint.svg#p) #c00000\" stroke-width=\"2\"",
    ];
    let leaves: String = paints.iter().enumerate().map(|(i, paint)| leaf(12 * i + 2, paint)).collect();
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="20mm" viewBox="0 -2 60 20">"#;
    desk.put("leaves.svg", &format!("{drawing}{leaves}</svg>"));
    let output = desk.run(&["sew", "leaves.svg", "-o", "-"]);
    assert!(code(&output) <= 1, "{}", errors(&output));
    let mut colours = colours(&output.stdout);
    colours.sort();
    assert_eq!(colours, ["#0000ff", "#00aa00", "#c00000", "#ff8800"]);
    assert!(!errors(&output).contains("cannot be read"), "{}", errors(&output));
}

#[test]
fn a_size_beside_the_limit_is_told_from_it() {
    let desk = Desk::new();
    let sized = |width: &str| desk.put("leaf.svg", &LEAF.replace("width=\"20mm\"", &format!("width=\"{width}mm\"")));
    for (width, told) in [("2000.0004", "2000.0004 x"), ("2000.4", "2000.4 x"), ("2003.4", "2003 x")] {
        sized(width);
        let output = desk.run(&["sew", "leaf.svg"]);
        assert_eq!(code(&output), 2);
        let said = errors(&output);
        assert!(said.contains(told) && said.contains("limit of 2000 mm"), "{width}: {said}");
        assert_eq!(desk.files(), ["leaf.svg"]);
    }
    sized("2000");
    assert!(code(&desk.run(&["sew", "leaf.svg", "-o", "wide.stitches"])) <= 1);
    let output = desk.run(&["sew", "leaf.svg", "--width", "2000.001"]);
    assert_eq!(code(&output), 2);
    assert!(errors(&output).contains("2000.001 mm is no size to sew"), "{}", errors(&output));
}

#[test]
fn text_left_out_for_want_of_a_font_is_no_whole_design() {
    let desk = Desk::new();
    let lettered =
        LEAF.replace("</svg>", r#"<text x="1" y="19" font-size="6" font-family="Inconsolata">A</text></svg>"#);
    desk.put("leaf.svg", &lettered);
    for command in [&["sew", "leaf.svg"][..], &["report", "leaf.svg"]] {
        let output = desk.run(command);
        assert_eq!(code(&output), 1, "{command:?}: {}", errors(&output));
        assert!(errors(&output).contains("is text, and there are no fonts: it is left out"), "{}", errors(&output));
    }
    assert_eq!(desk.files(), ["leaf.stitches", "leaf.svg"]);
    let whole = desk.run(&["sew", "leaf.svg", "--font", &fixture("fonts")]);
    assert_eq!(code(&whole), 0, "{}", errors(&whole));
}

#[test]
fn a_letter_that_the_font_lacks_is_no_whole_design() {
    let desk = Desk::new();
    let text = r#"<text id="word" x="1" y="19" font-size="6" font-family="Inconsolata">A</text></svg>"#;
    desk.put("whole.svg", &LEAF.replace("</svg>", text));
    desk.put("lacking.svg", &LEAF.replace("</svg>", &text.replace(">A<", ">A水<")));
    for by in [&["whole.svg", "--text", "word=B水"][..], &["lacking.svg"]] {
        let output = desk.run(&[&["sew", "-o", "x.stitches", "--font", &fixture("fonts")], by].concat());
        assert_eq!(code(&output), 1, "{by:?}: {}", errors(&output));
        assert!(errors(&output).contains("no font has the characters 水"), "{}", errors(&output));
        assert!(desk.path("x.stitches").exists(), "what there is is sewn");
    }
}
