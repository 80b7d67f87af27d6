//! What one animal carries, strand by strand.

use crate::records::{GeneId, Genotype, Sex};

/// One of the two strands of an animal: what one parent passed on in one gamete.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strand {
    /// The allele at each gene; `None` where the strand has no copy (X or Z genes on a Y or W).
    pub alleles: Vec<Option<usize>>,
    /// Whether it carries the Y or W. Always false where sex is environmental.
    pub minor: bool,
}

/// The true genotype of one animal at every gene, with phase, and its sex.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Genome {
    /// The strand from the dam, then the strand from the sire; for a founder in random order.
    pub strands: [Strand; 2],
    /// Its sex.
    pub sex: Sex,
}

impl Genome {
    /// The genotype at one gene: the unordered pair, or the only copy.
    ///
    /// # Panics
    ///
    /// If `gene` is not a gene of the colony the genome was drawn for.
    pub fn genotype(&self, gene: GeneId) -> Genotype {
        match [self.strands[0].alleles[gene.0], self.strands[1].alleles[gene.0]] {
            [Some(one), Some(other)] => Genotype::two(one, other),
            [Some(only), None] | [None, Some(only)] => Genotype::One(only),
            // Some strand bears an X or Z: an egg with neither is never drawn.
            [None, None] => Genotype::One(0),
        }
    }
}
