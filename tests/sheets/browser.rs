//! How a browser shows the pages: nothing overlaps, nothing is cut off, nothing is complained about.
//!
//! The pages are put as they are into frames of one test page, which alone has a script: it measures every
//! piece of text in every frame. On paper is measured with the print styles in force at the width of A4 less
//! its margins. Without a browser on the machine these tests say that they were skipped.

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;

use crate::pages::{KINDS, demo, sheet, surveys};

/// Widths of screens, pixels.
const SCREENS: [u32; 3] = [390, 800, 1280];
/// A4 less 13 mm on either side, in pixels of 1/96 in: (210 - 26) / 25.4 * 96.
const PAPER: u32 = 695;
/// Most pages that a sheet of the lathe takes on A4.
const MOST_PAGES: usize = 3;

/// What a browser does not need to do here.
const QUIET: [&str; 10] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
];

/// The browser ready to run with an empty profile in this folder; `None` if there is none.
fn browser(profile: &Path) -> Option<Command> {
    let there = Command::new("chromium").arg("--version").output();
    if !there.is_ok_and(|output| output.status.success()) {
        eprintln!("skipped: there is no chromium on this machine");
        return None;
    }
    let mut command = Command::new("chromium");
    command
        .args(QUIET)
        .arg(format!("--user-data-dir={}", profile.display()));
    Some(command)
}

/// Measures every frame; the findings are printed as lines.
const SCRIPT: &str = r"
function measure(frame) {
  const doc = frame.contentDocument, found = [];
  const width = doc.documentElement.clientWidth;
  if (doc.documentElement.scrollWidth > width)
    found.push('is ' + doc.documentElement.scrollWidth + ' wide on ' + width);
  const texts = [];
  const walker = doc.createTreeWalker(doc.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walker.nextNode());) {
    if (!node.data.trim()) continue;
    const parent = node.parentElement;
    if (parent.closest('title,desc,style')) continue;
    const svg = parent.closest('svg');
    let rects;
    if (svg) rects = [parent.getBoundingClientRect()];
    else { const range = doc.createRange(); range.selectNodeContents(node); rects = [...range.getClientRects()]; }
    for (const rect of rects) {
      if (rect.width < 0.5) continue;
      const words = node.data.trim().slice(0, 40);
      if (rect.left < -0.5 || rect.right > width + 0.5) found.push('off the page: ' + words);
      if (svg) {
        const paper = svg.getBoundingClientRect();
        if (rect.left < paper.left - 1 || rect.right > paper.right + 1 || rect.top < paper.top - 1 ||
            rect.bottom > paper.bottom + 2) found.push('off the drawing: ' + words);
        if (parseFloat(getComputedStyle(parent).fontSize) * paper.width / svg.viewBox.baseVal.width < 7.5)
          found.push('too small to read: ' + words);
      }
      // A box of text has air above and below its letters.
      const air = rect.height * 0.18;
      texts.push([rect.left + 0.5, rect.top + air, rect.right - 0.5, rect.bottom - air, words]);
    }
  }
  texts.sort((a, b) => a[1] - b[1]);
  for (let i = 0; i < texts.length; i++)
    for (let j = i + 1; j < texts.length && texts[j][1] < texts[i][3]; j++)
      if (texts[i][0] < texts[j][2] && texts[j][0] < texts[i][2])
        found.push('overlap: ' + texts[i][4] + ' / ' + texts[j][4]);
  if (!texts.length) found.push('nothing to see');
  return found;
}
addEventListener('load', () => {
  const lines = [];
  let frames = 0;
  for (const frame of document.querySelectorAll('iframe')) {
    frames++;
    for (const what of measure(frame)) lines.push(frame.title + ': ' + what);
  }
  const result = document.createElement('pre');
  result.id = 'result';
  result.textContent = 'measured ' + frames + '\n' + lines.join('\n');
  document.body.replaceChildren(result);
});
";

/// The page with its print styles on the screen.
fn printed(page: &str) -> String {
    let printed = page
        .replace("@media screen", "@media not all")
        .replace("@media print", "@media all");
    assert_ne!(printed, page, "the page has print styles");
    printed
}

fn frame(title: &str, width: u32, page: &str) -> String {
    let page = page.replace('&', "&amp;").replace('"', "&quot;");
    format!(
        "<iframe title=\"{title}\" style=\"width:{width}px;height:600px;border:0\" srcdoc=\"{page}\"></iframe>\n"
    )
}

/// A machine with many feet, long names and long notes.
fn crowded() -> String {
    let mut survey = String::from(
        "format = 1\n[machine]\nname = \"A very long name of a machine that never ends, \
         Donaudampfschifffahrtsgesellschaftskapitänsmützenfabrikhallendrehbank <b>4</b>\"\n\
         [bed]\nlength = 12000\nway_spacing = 600\n[feet]\nat = [",
    );
    for place in 0..14 {
        let _ = write!(survey, "{}, ", 300 + 870 * place);
    }
    survey.push_str(
        "]\nlift_per_turn = 1\nsmallest_turn = \"1/72\"\n[foot.beside_the_steady]\nside = \"front\"\nat = 6700\n\
         [level.the_long_one_from_the_tool_store]\ndivision = \"0.02 mm/m\"\nbase = 400\n\
         [limits]\ntwist = \"0.04 mm/m\"\ncrown = [-0.02, 0.05]\nstraightness = 0.05\n",
    );
    let readings = |pass: f64, phase: f64, letters: [char; 2]| {
        let list: Vec<String> = (0..30)
            .map(|station| {
                let size = (f64::from(station) / 4.0 + phase).sin() * 8.0 / pass;
                let size = (size * 4.0).round() / 4.0;
                match size {
                    0.0 => "\"0\"".to_owned(),
                    size if size > 0.0 => format!("\"{size}{}\"", letters[0]),
                    size => format!("\"{}{}\"", -size, letters[1]),
                }
            })
            .collect();
        list.join(", ")
    };
    let stations: Vec<String> = (0..30).map(|k| (200 + 400 * k).to_string()).collect();
    for pass in 1..=9 {
        let size = f64::from(pass);
        let _ = write!(
            survey,
            "[[pass]]\ntaken = 2026-05-0{pass}T09:00:00\nstations = [{}]\ncross = [{}]\nfront = [{}]\nrear = [{}]\n\
             note = \"{}\"\n[pass.turned]\nF1 = 1\nR2 = -7.5\nbeside_the_steady = 0.1\n",
            stations.join(", "),
            readings(size, 0.0, ['F', 'R']),
            readings(size, 1.0, ['T', 'H']),
            readings(size, 2.0, ['T', 'H']),
            "a note that goes on and on ".repeat(6)
        );
    }
    survey
}

#[test]
fn nothing_overlaps_or_is_cut_off() {
    let folder = tempfile::tempdir().expect("a folder");
    let Some(mut browser) = browser(&folder.path().join("profile")) else {
        return;
    };
    let crowd = folder.path().join("crowded.toml");
    std::fs::write(&crowd, crowded()).expect("the survey is written");
    let demos = surveys().into_iter().map(|name| {
        let file = demo(&name);
        (name, file)
    });
    let all: Vec<(String, std::path::PathBuf)> =
        demos.chain([("crowded".to_owned(), crowd)]).collect();
    let mut frames = String::new();
    let mut count = 0;
    for (name, survey) in &all {
        for kind in KINDS {
            let page = sheet(survey, &["--kind", kind]);
            for width in SCREENS {
                frames += &frame(&format!("{name} {kind} at {width}"), width, &page);
            }
            frames += &frame(&format!("{name} {kind} on paper"), PAPER, &printed(&page));
            count += SCREENS.len() + 1;
        }
    }
    let wrapper = folder.path().join("all.html");
    std::fs::write(
        &wrapper,
        format!(
            "<!DOCTYPE html><meta charset=\"utf-8\"><body>{frames}<script>{SCRIPT}</script></body>"
        ),
    )
    .expect("the test page is written");
    let output = browser
        .args(["--enable-logging=stderr", "--v=0", "--dump-dom"])
        .arg(format!("file://{}", wrapper.display()))
        .output()
        .expect("the browser runs");
    let complaints: Vec<String> = String::from_utf8_lossy(&output.stderr)
        .lines()
        .filter(|line| line.contains("CONSOLE"))
        .map(str::to_owned)
        .collect();
    assert!(
        complaints.is_empty(),
        "the browser complains: {complaints:#?}"
    );
    let shown = String::from_utf8_lossy(&output.stdout);
    let (_, result) = shown
        .split_once("<pre id=\"result\">")
        .unwrap_or_else(|| panic!("no result: {shown:.500}"));
    let (result, _) = result.split_once("</pre>").expect("its end");
    let mut lines = result.lines();
    assert_eq!(lines.next(), Some(format!("measured {count}").as_str()));
    let found: Vec<&str> = lines.filter(|line| !line.is_empty()).collect();
    assert!(found.is_empty(), "{} findings: {found:#?}", found.len());
}

#[test]
fn the_sheets_print_on_few_pages_of_a4() {
    let folder = tempfile::tempdir().expect("a folder");
    for kind in KINDS {
        let Some(mut browser) = browser(&folder.path().join("profile")) else {
            return;
        };
        let page = sheet(&demo("eight-foot-lathe"), &["--kind", kind]);
        let sized = page.replace("@page{", "@page{size:A4;");
        assert_ne!(sized, page, "the page has margins for print");
        let (source, target) = (
            folder.path().join("page.html"),
            folder.path().join("page.pdf"),
        );
        std::fs::write(&source, sized).expect("the page is written");
        let status = browser
            .arg("--no-pdf-header-footer")
            .arg(format!("--print-to-pdf={}", target.display()))
            .arg(format!("file://{}", source.display()))
            .output()
            .expect("the browser runs")
            .status;
        assert!(status.success(), "{kind}");
        let bytes = std::fs::read(&target).expect("the browser printed");
        let text = String::from_utf8_lossy(&bytes);
        // ISO 216: A4 is 210 by 297 mm, 595 by 842 points.
        assert!(
            text.contains("/MediaBox [0 0 594.9") || text.contains("/MediaBox [0 0 595"),
            "{kind} is not A4"
        );
        let pages = text.matches("/Type /Page\n").count();
        assert!((1..=MOST_PAGES).contains(&pages), "{kind}: {pages} pages");
    }
}
