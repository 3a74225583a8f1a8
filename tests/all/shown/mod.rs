//! Pages that show the program at work, held against what it says.

/// The arguments of a command line as a shell would split it; only double quotes are known.
pub(crate) fn split(line: &str) -> Vec<String> {
    let parts = line.split('"').enumerate();
    let words = parts.flat_map(|(at, part)| match at % 2 {
        0 => part.split_whitespace().map(str::to_owned).collect(),
        _ => vec![part.to_owned()],
    });
    words.collect()
}

/// Whether a text is what was shown, where a line `...` stands for any lines.
pub(crate) fn is_shown(shown: &str, said: &str) -> Result<(), String> {
    let mut rest: Vec<&str> = said.lines().collect();
    let mut free = false;
    for part in shown.split_inclusive('\n').map(str::trim_end).chain(["\0"]) {
        if part == "..." {
            free = true;
            continue;
        }
        let at = match part {
            "\0" => Some(rest.len()).filter(|left| free || *left == 0),
            _ => rest.iter().position(|line| line.trim_end() == part).filter(|at| free || *at == 0),
        };
        let Some(at) = at else { return Err(format!("{part:?} does not come where it should in:\n{said}")) };
        rest.drain(..(at + 1).min(rest.len()));
        free = false;
    }
    Ok(())
}
