"""What a drawing shows without saying so: pieces, roles of lines, folds, copies, edges, seams, each as a guess."""
