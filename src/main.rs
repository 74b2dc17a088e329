//! temp
fn main() -> anyhow::Result<()> {
    let path = std::env::args().nth(1).unwrap_or_default();
    let forms = wanderlead::forms::Forms::embedded()?;
    wanderlead::screen::run::run(std::path::Path::new(&path), forms)
}
