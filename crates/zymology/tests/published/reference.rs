//! Reference values from general libraries, made by `tests/reference/zymology.py`.

const VALUES: &str = include_str!("../../../../tests/reference/zymology.csv");

/// Arguments and value of every row of one table.
pub(crate) fn rows(table: &str) -> Vec<([f64; 3], f64)> {
    let number = |text: Option<&str>| text.and_then(|t| t.parse().ok()).unwrap_or(0.0);
    let rows: Vec<_> = VALUES
        .lines()
        .filter_map(|line| {
            let mut cells = line.split(',');
            let of = cells.next()? == table;
            cells.next()?;
            let arguments = std::array::from_fn(|_| number(cells.next()));
            of.then(|| (arguments, cells.next().and_then(|t| t.parse().ok()).unwrap_or(f64::NAN)))
        })
        .collect();
    assert!(!rows.is_empty(), "no reference values of {table}");
    rows
}
