//! The sheet as a browser prints it: a page an aircraft on A4 and on Letter, with nothing cut off. `.ci/install-outside-tools` installs
//! the browser and the tools that look at its pages; where one is missing these tests fail and never skip.
#![cfg(unix)]

use crate::program::run;
use crate::testdata::fleet_folder;
use std::fs;
use std::path::Path;
use std::process::Command;

/// What a tool prints.
fn said(program: &str, arguments: &[&str]) -> String {
    let output = Command::new(program).args(arguments).output().unwrap_or_else(|error| panic!("{program}: {error}"));
    assert!(output.status.success(), "{program}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// A page as it is printed.
struct Printed {
    text: String,
    /// Its words, each with how far its left and its upper edge are from those of the paper, as shares of it.
    words: Vec<(String, f64, f64)>,
}

/// The pages of a sheet as a browser prints it on some paper.
fn printed(sheet: &str, paper: &str, folder: &Path) -> Vec<Printed> {
    let html = sheet.replace("@page { margin: 8mm; }", &format!("@page {{ size: {paper}; margin: 8mm; }}"));
    assert_ne!(html, sheet);
    let (page, pdf) = (folder.join("sheet.html"), folder.join("sheet.pdf"));
    fs::write(&page, html).unwrap();
    let profile = format!("--user-data-dir={}", folder.join("profile").display());
    let to = format!("--print-to-pdf={}", pdf.display());
    let output = Command::new("chromium")
        .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", &profile, &to])
        .arg(&page)
        .output()
        .unwrap_or_else(|error| panic!("chromium is not installed: {error}"));
    assert!(pdf.is_file(), "{}", String::from_utf8_lossy(&output.stderr));
    let pdf = pdf.to_str().unwrap();
    let info = said("pdfinfo", &[pdf]);
    let count = info.lines().find_map(|line| line.strip_prefix("Pages:")).unwrap().trim().parse::<usize>().unwrap();
    let text = |page: usize| said("pdftotext", &["-f", &page.to_string(), "-l", &page.to_string(), pdf, "-"]);
    let mut pages: Vec<Printed> = (1..=count).map(|page| Printed { text: text(page), words: Vec::new() }).collect();
    // Nothing lies beyond the paper.
    let boxes = said("pdftotext", &["-bbox", pdf, "-"]);
    let value = |line: &str, key: &str| -> f64 {
        let from = line.find(&format!("{key}=\"")).unwrap() + key.len() + 2;
        line[from..].split('"').next().unwrap().parse().unwrap()
    };
    let (mut width, mut height) = (0.0, 0.0);
    let mut page = 0;
    for line in boxes.lines().map(str::trim) {
        if line.starts_with("<page ") {
            (width, height) = (value(line, "width"), value(line, "height"));
            page += 1;
        } else if line.starts_with("<word ") {
            let inside = value(line, "xMin") >= 0.0 && value(line, "xMax") <= width;
            assert!(inside && value(line, "yMin") >= 0.0 && value(line, "yMax") <= height, "{paper}: {line}");
            let word = line.split_once('>').unwrap().1.trim_end_matches("</word>");
            pages[page - 1].words.push((word.to_owned(), value(line, "xMin") / width, value(line, "yMin") / height));
        }
    }
    pages
}

/// The words of a text, without what stands between them.
fn words(text: &str) -> Vec<&str> {
    text.split(|letter: char| !letter.is_alphanumeric()).filter(|word| !word.is_empty()).collect()
}

/// The words of the parts of a page that are printed.
fn told(article: &str) -> String {
    let article = article.split("<div class=\"plots\">").next().unwrap();
    let article = article.split_once('>').unwrap().1;
    let mut text = String::new();
    for part in article.split('<') {
        text.push(' ');
        text += part.split_once('>').map_or(part, |(_, text)| text);
    }
    text.replace("&quot;", " ").replace("&lt;", " ").replace("&gt;", " ").replace("&amp;", " ")
}

/// The bench check has its heading at the left edge, with all of the card above it: where the eye looks for it.
fn begins_below_the_card(page: &Printed) {
    let mut pairs = page.words.iter().zip(page.words.iter().skip(1));
    let Some(((_, left, top), _)) =
        pairs.find(|((one, ..), (two, ..))| (one.as_str(), two.as_str()) == ("Bench", "check"))
    else {
        return;
    };
    assert!(*left < 0.06, "{left}: {}", page.text);
    for head in ["Handset", "Radio", "tested"] {
        let places = page.words.iter().filter(|(word, ..)| word == head);
        places
            .for_each(|(word, _, y)| assert!(y < top, "{word} stands at {y}, the bench check at {top}: {}", page.text));
    }
}

#[test]
fn each_aircraft_is_one_page_and_nothing_is_cut_off() {
    let folder = tempfile::tempdir().unwrap();
    for fleet in ["clean", "hurried", "kinds", "neighbours"] {
        let output = run(&fleet_folder(fleet), "sheet", &["--today", "2027-03-01"], "");
        let sheet = String::from_utf8(output.stdout).unwrap();
        let articles: Vec<&str> = sheet.split("<article").skip(1).collect();
        for paper in ["A4", "letter"] {
            let pages = printed(&sheet, paper, folder.path());
            assert_eq!(
                pages.len(),
                articles.len(),
                "{fleet} on {paper}: {:?}",
                pages.iter().map(|page| page.text.lines().next()).collect::<Vec<_>>()
            );
            for (page, article) in pages.iter().zip(&articles) {
                begins_below_the_card(page);
                let page = &page.text;
                let printed: Vec<&str> = words(page);
                let told = told(article);
                for word in words(&told) {
                    assert!(
                        printed.iter().any(|known| known.contains(word)),
                        "{fleet} on {paper}: {word} is not printed: {page}"
                    );
                }
            }
        }
    }
}
