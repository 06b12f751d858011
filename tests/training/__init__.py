"""From made scenes to the trained score that finds edge and line, and what that score's chances are worth.

Run in this order: `draw_scenes`, `make_strips`, `train`, `export`, `fit_belief`, then `reliability` and `line_shares`
on boards that none of these has seen. Only `train` and `export` need PyTorch (the extra ``training``); nothing of the
package and no test does.
"""
