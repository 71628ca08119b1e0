//! What a person does, in a real browser that can reach nothing but the bench.

use super::program::{Program, photo};
use super::webdriver::Browser;

const TAB: &str = "\u{e004}";
const ENTER: &str = "\u{e007}";
const RIGHT: &str = "\u{e014}";

/// A photo file, and how many of its pixels make a millimetre.
fn photo_file() -> (tempfile::TempDir, String, f64) {
    let folder = tempfile::tempdir().unwrap();
    let (png, px_per_mm) = photo();
    let path = folder.path().join("hole.png");
    std::fs::write(&path, png).unwrap();
    let path = path.to_string_lossy().into_owned();
    (folder, path, px_per_mm)
}

#[test]
fn a_photo_a_dragged_scale_a_verdict_and_the_report() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let bench = Program::start(&[]);
    let (_folder, path, px_per_mm) = photo_file();
    browser.open(&bench.address);
    browser.keys("#photo", &path);
    browser.until("document.querySelector('.stage .ring')");
    assert!(browser.text(".question").contains("How large is a millimetre?"));
    // Dragged, the rings measure; the magnifier is there while they do.
    let before = browser.text(".aside");
    browser.drag(".stage .ring", [40, -20]);
    assert_ne!(browser.text(".aside"), before);
    assert_eq!(browser.run("return document.querySelector('.glass').hidden"), false);
    // The rings' distance is what their pixels are in millimetres.
    let px: f64 = browser
        .text(".aside")
        .split(" px = ")
        .next()
        .unwrap()
        .rsplit(['\n', ' '])
        .next()
        .unwrap()
        .parse()
        .unwrap();
    browser.run(&format!("const f = document.querySelector('[name=apart]'); f.value = '{}'; f.dispatchEvent(new Event('input'))", px / px_per_mm));
    browser.click(".aside .press");
    browser.until("document.querySelector('#word')");
    assert!(browser.text(".verdict").contains("jnd lost"));
    assert_eq!(browser.run("return document.activeElement.id"), "word");
    browser.until("document.querySelector('#keep [data-file=\"report.html\"]')");
    assert_eq!(browser.run("return document.querySelectorAll('.way img').length"), 2);
    let said = browser.text(".way figcaption");
    // The invented hole is 0.35 mm wide.
    let mm: f64 = said
        .split(" ± ")
        .next()
        .unwrap()
        .rsplit(' ')
        .next()
        .unwrap()
        .trim_start_matches("hole")
        .parse()
        .unwrap();
    assert!((mm - 0.35).abs() < 0.004, "{said}");
    browser.run("window.saved = ''; HTMLAnchorElement.prototype.click = function () { window.saved = this.download; }");
    browser.click("#keep [data-file=\"report.html\"]");
    assert_eq!(browser.run("return window.saved"), "report.html");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn one_of_many_holes_is_chosen_or_all_are_ranked() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let bench = Program::start(&[]);
    let folder = tempfile::tempdir().unwrap();
    let (scan, ..) = foramen::hole::specimen::demonstration_scan().unwrap();
    let png = foramen::raster::png(&foramen::raster::display(&scan).unwrap()).unwrap();
    let path = folder.path().join("scan.png");
    std::fs::write(&path, png).unwrap();
    browser.open(&bench.address);
    browser.keys("#photo", &path.to_string_lossy());
    browser.until("document.querySelectorAll('.stage .spot').length > 1");
    assert!(browser.text(".question").starts_with("Which hole"));
    browser.run("const f = document.querySelector('[name=dpi]'); f.value = '2400'; f.dispatchEvent(new Event('input'))");
    browser.run("[...document.querySelectorAll('.aside button')].find(b => b.innerText.startsWith('Appraise all')).click()");
    browser.until("document.querySelectorAll('.every tbody tr').length === 24");
    assert!(browser.text(".every h2").ends_with("suits Cedar box best."));
    // The numbers on the photo are those of the table.
    let number = browser.text(".every tbody tr:nth-child(3) td:nth-child(2)");
    browser.run("document.activeElement.blur()");
    browser.press(&number);
    assert_eq!(
        browser.text(".stage .spot[aria-checked=true]"),
        number,
        "typed digits choose a hole"
    );
    let diameter = browser.text(".every tbody tr:nth-child(3) td:nth-child(3)");
    browser.click(".aside .press");
    browser.until("document.querySelector('#word')");
    let said = browser.text(".way figcaption");
    assert!(said.contains(diameter.split(' ').next().unwrap()), "{said}: {diameter}");
    browser.until("document.querySelector('#keep [data-file=\"report.html\"]')");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn a_hole_that_cannot_be_traced_is_circled() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let bench = Program::start(&[]);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("grey.png");
    image::GrayImage::from_pixel(600, 400, image::Luma([120])).save(&path).unwrap();
    browser.open(&bench.address);
    browser.keys("#photo", &path.to_string_lossy());
    browser.until("document.querySelector('.stage .ring')");
    assert_eq!(browser.text(".question"), "Where is the hole?");
    browser.run("[...document.querySelectorAll('.aside button')].find(b => b.innerText === 'Circle it myself').click()");
    browser.press(RIGHT);
    browser.run("const f = document.querySelector('[name=apart]'); f.value = '1'; f.dispatchEvent(new Event('input'))");
    // The circle is 99 px wide, the rings on the rule 300 px and 1 mm apart.
    assert!(
        browser.text(".aside").contains("The circle: 0.330 ± 0.00"),
        "{}",
        browser.text(".aside")
    );
    browser.click(".aside .press");
    browser.until("document.querySelector('#word')");
    assert!(browser.text("#answer").contains("the rim was not looked at"));
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn the_log_takes_a_line_and_gives_it_back() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bench.jsonl");
    let bench = Program::start(&["--log", &path.to_string_lossy()]);
    for size in ["0.25 mm", "0.31 mm"] {
        browser.open(&bench.address);
        browser.keys("[name=name]", "brass 3");
        browser.keys("[name=size]", &format!("{size}{ENTER}"));
        browser.until("[...document.querySelectorAll('#keep button')].some(b => b.innerText === 'Add to the log')");
        browser.run("[...document.querySelectorAll('#keep button')].find(b => b.innerText === 'Add to the log').click()");
        browser.until("document.querySelector('#keep').innerText.includes('Added.')");
    }
    browser.open(&format!("{}log", bench.address));
    assert_eq!(browser.run("return document.querySelectorAll('.passes li').length"), 2);
    browser.click(".last button");
    browser.until("document.querySelector('.log').innerText.includes('One entry was taken back.')");
    assert_eq!(browser.run("return document.querySelectorAll('.passes li').length"), 1);
    // Nothing is rewritten: three lines, the last of which revokes.
    let text = std::fs::read_to_string(&path).unwrap();
    assert_eq!(text.lines().count(), 3);
    assert!(text.lines().last().unwrap().contains("revokes"));
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn sliders_move_the_light() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let bench = Program::start(&[]);
    browser.open(&format!("{}what-if", bench.address));
    browser.until("document.querySelector('#handle') && document.body.dataset.shown");
    let state = || {
        (
            browser.text("#loss"),
            browser.run("return document.querySelector('#window-point canvas').toDataURL()"),
        )
    };
    let before = state();
    browser.click("#handle");
    browser.press(&RIGHT.repeat(40));
    browser.until(&format!("document.querySelector('#loss').innerText !== {:?}", before.0));
    assert_ne!(state().1, before.1);
    for name in ["oval", "film", "movement"] {
        let shown = browser.run("return Number(document.body.dataset.shown)").as_i64().unwrap();
        browser.run(&format!("const s = document.querySelector('[data-for={name}]'); s.value = 700; s.dispatchEvent(new Event('input'))"));
        browser.until(&format!("Number(document.body.dataset.shown) > {shown}"));
    }
    browser.run("const f = document.querySelector('#film'); f.value = '5'; f.dispatchEvent(new Event('change'))");
    browser.until("document.querySelector('#film-fault').innerText.includes('out of range')");
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn the_camera_is_checked_as_it_is_typed_and_kept_for_the_other_jobs() {
    let Some(browser) = Browser::start(390, 844, &[]) else { return };
    let bench = Program::start(&[]);
    browser.open(&format!("{}camera", bench.address));
    let type_distance = |text: &str| {
        browser.run(&format!(
        "const f = document.getElementById('film-distance'); f.value = '{text}'; f.dispatchEvent(new Event('input', {{ bubbles: true }}))"
    ))
    };
    type_distance("100 parsecs");
    browser.until("document.getElementById('film-distance-fault').innerText.length > 5");
    type_distance("80 mm");
    browser.until("document.getElementById('where').innerText.includes('80 mm')");
    browser.open(&bench.address);
    browser.keys("[name=size]", &format!("0.3 mm{ENTER}"));
    browser.until("document.querySelector('#word')");
    assert!(browser.text("#where").contains("80 mm"));
    // No page is wider than a narrow phone.
    for path in ["", "what-if", "camera", "log"] {
        browser.open(&format!("{}{path}", bench.address));
        assert_eq!(
            browser.run("return document.documentElement.scrollWidth <= innerWidth"),
            true,
            "{path}"
        );
    }
    assert_eq!(browser.complaints(), Vec::<String>::new());
}

#[test]
fn the_keyboard_alone_suffices() {
    let Some(browser) = Browser::start(1440, 900, &[]) else { return };
    let bench = Program::start(&[]);
    browser.open(&bench.address);
    let mut path = Vec::new();
    for _ in 0..14 {
        browser.press(TAB);
        path.push(browser.run("return document.activeElement.name || document.activeElement.className || document.activeElement.tagName").to_string());
        if path.last().is_some_and(|last| last.contains("size")) {
            break;
        }
    }
    assert!(path[0].contains("skip") && path.last().unwrap().contains("size"), "{path:?}");
    browser.press(&format!("0.4 mm{ENTER}"));
    browser.until("document.querySelector('#word')");
    browser.press("w");
    browser.until("location.pathname === '/what-if' && document.querySelector('#handle')");
    browser.press("d");
    assert_eq!(browser.run("return document.activeElement.id"), "handle");
    browser.press("b");
    assert_eq!(
        browser.run("return document.querySelector('#beside').getAttribute('aria-pressed')"),
        "false"
    );
}

#[test]
fn without_scripts_the_form_still_appraises() {
    let Some(browser) = Browser::start(1440, 900, &["--blink-settings=scriptEnabled=false"]) else {
        return;
    };
    let bench = Program::start(&[]);
    browser.open(&bench.address);
    browser.keys("[name=size]", &format!("0.35 mm{ENTER}"));
    let found = || browser.page();
    for _ in 0..600 {
        if found().contains("jnd lost") {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
    panic!("{}", found());
}
