//! What a script may use up: each limit, a script that runs into it, and one that comes close.

use crate::script::{faults, part};

fn told(source: &str) -> String {
    let faults = faults(&format!("part(\"p\");\n{source}"));
    let first = &faults.0[0];
    assert!(
        first.span.as_ref().is_some_and(|s| s.line >= 1),
        "no place: {first:?}"
    );
    first.text.clone()
}

#[test]
fn runaway_scripts_end_with_a_plain_word() {
    let table = [
        ("loop {}", "without coming to its end"),
        (
            "let n = 0; while true { n += 1; }",
            "without coming to its end",
        ),
        ("fn f(n) { f(n) } f(1);", "deep here"),
        ("fn f(n) { g(n) } fn g(n) { f(n) } f(1);", "deep here"),
        ("let a = []; loop { a.push(1); }", "this list grows over"),
        ("let a = []; a.pad(1000000, 0);", "list grows over"),
        ("let a = [1]; loop { a += a; }", "this list grows over"),
        (
            "let a = []; let b = []; for i in 0..300 { b.push(i); } loop { a.push(b); }",
            "this list grows over",
        ),
        ("let t = \"sand\"; loop { t += t; }", "this text grows over"),
        (
            "let m = #{}; let i = 0; loop { i += 1; m += #{ a: i }; m[\"k\" + i] = i; }",
            "this map grows over",
        ),
        ("bolt_circle(100000, 5);", "must not be over"),
        ("grid(100, 100, 5, 5);", "more than 5000 points"),
    ];
    for (source, words) in table {
        let told = told(source);
        assert!(told.contains(words), "{source}: {told}");
    }
}

#[test]
fn deep_brackets_end_with_a_plain_word() {
    let source = format!("let x = {}3{};", "(".repeat(3000), ")".repeat(3000));
    assert!(told(&source).contains("nested too deep"));
    let source = format!("let x = {}{};", "[".repeat(100_000), "]".repeat(100_000));
    assert!(told(&source).contains("nested too deep"));
}

#[test]
fn what_comes_close_is_read() {
    part(
        "part(\"p\");
         fn down(n) { if n > 0 { down(n - 1) } }
         down(40);
         let list = []; for i in 0..15000 { list.push(i); }
         let text = \"\"; for i in 0..900 { text += \"twenty letters each.\"; }
         let sum = 0; for i in 0..200000 { sum += i; }
         slab(\"s\", #{ outline: disc(20), height: 5 });",
    );
}

#[test]
fn no_way_out_of_the_sandbox() {
    for (source, words) in [
        ("eval(\"1\");", "`eval` is not a word"),
        ("print(\"x\");", "`print` is not a word"),
        ("debug(\"x\");", "`debug` is not a word"),
        ("sleep(100);", "`sleep` is not a word"),
        ("exit();", "`exit` is not a word"),
        ("timestamp();", "`timestamp` is not a word"),
        ("let f = Fn(\"sleep\"); f.call(100);", "no clock"),
        ("let f = Fn(\"eval\"); f.call(\"1\");", "eval"),
        (
            "open_file(\"/etc/passwd\");",
            "there is no word `open_file`",
        ),
    ] {
        let told = told(source);
        assert!(told.contains(words), "{source}: {told}");
    }
}

#[test]
fn a_loop_of_one_fault_tells_it_once() {
    let faults =
        faults("part(\"p\");\nfor i in 0..200 { slab(\"s\", #{ outline: disc(5), height: 0 }); }");
    assert_eq!(faults.0.len(), 1);
}

#[test]
fn a_flood_of_faults_is_cut_off() {
    let lines: String = (0..200)
        .map(|_| "slab(\"s\", #{ outline: disc(5), height: 0 });\n")
        .collect();
    let faults = faults(&format!("part(\"p\");\n{lines}"));
    assert_eq!(faults.0.len(), 50);
}
